"""Commands, options and exit status. Each command imports its stage when it runs, so that help comes at once."""

from __future__ import annotations

import errno
import os
import signal
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

from combo import __version__
from combo.problems import Place, Problem, Problems, Report, visible

if TYPE_CHECKING:
    from rich.console import Console

    from combo.deadline import Clock
    from combo.read.load import Loaded

BAD_INPUT = 2
MOST_PROBLEMS = 100
"""Problems that are printed; all of them are counted."""
NOTHING_FITS = 1
CUT_SHORT = 3
INTERRUPTED_STATUS = 130
_WRONG_PATHS = {
    errno.ENOENT: "there is no such file or folder",
    errno.EEXIST: "something of that name is there",
    errno.ENOTDIR: "a file is on the way, in place of a folder",
    errno.EISDIR: "it is a folder",
    errno.ELOOP: "it is a link that leads to itself",
    errno.ENAMETOOLONG: "the name is too long",
}
"""What is wrong with a path that was given, and not with the machine."""

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    help="Pick wheels, tires, axle ratio and ballast for a custom truck: "
    "every check computed, every build ranked exactly.",
    epilog="Exit status: 0 an answer, 1 no build passes, 2 the input has problems, 3 cut short, "
    "4 a fault of the machine, 130 interrupted.",
)
JobPath = Annotated[Path, typer.Argument(metavar="JOB", readable=False, help="The job file, such as truck/job.toml.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print JSON for other programs (stable keys).")]
TIME_LIMIT_S = 30.0
"""After so long a command that searches tells what it has found, and that it is not proven."""
SearchLimit = Annotated[
    float, typer.Option("--time-limit", metavar="SECONDS", min=0.01, help="Tell after this long what is found by then.")
]
TimeLimit = Annotated[
    float | None,
    typer.Option(metavar="SECONDS", min=0.01, help="Stop searching after this long; the answer says so."),
]
Force = Annotated[bool, typer.Option("--force", help="Overwrite files that are there.")]
Picture = Annotated[Path | None, typer.Option(metavar="FILE.svg", help="Draw it, too: any browser opens it.")]
TopCount = Annotated[int | None, typer.Option(min=1, help="How many builds; else what the job says.")]


def main() -> None:
    """Run the command line; bad input exits with status 2 and one line a problem on standard error."""
    as_json = "--json" in sys.argv
    # Our matrices are small: threads would wait for each other longer than they work, and might add in another order.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        app()
    except Problems as found:
        _refuse(found, as_json=as_json)
    except OSError as error:
        if error.errno not in _WRONG_PATHS or error.filename is None:
            raise
        path = Place(os.fsdecode(error.filename))
        wrong = Problem(path, "wrong-path", _WRONG_PATHS[error.errno], "another path is accepted")
        _refuse(Problems([wrong]), as_json=as_json)


def _refuse(found: Problems, *, as_json: bool) -> NoReturn:
    """Tell what is wrong with the input, and end."""
    if as_json:
        from combo.show.machine import problems_json

        print(problems_json(found.problems))
    else:
        print(found.text(MOST_PROBLEMS), file=sys.stderr)
    raise SystemExit(BAD_INPUT) from None


def _version(wanted: bool) -> None:
    if wanted:
        print(__version__)
        raise typer.Exit


@app.callback()
def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
    no_cache: Annotated[
        bool, typer.Option("--no-cache", help="Read every list anew; else they are kept in your cache folder.")
    ] = False,
    traceback: Annotated[
        bool, typer.Option("--traceback", help="Show where a fault comes from, as COMBO_TRACEBACK=1 does.")
    ] = False,
) -> None:
    if no_cache:
        os.environ["COMBO_NO_CACHE"] = "1"
    if traceback:
        os.environ["COMBO_TRACEBACK"] = "1"


@app.command(short_help="Write a starter job that runs as it is.")
def new(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="A new folder, or an empty one.")],
) -> None:
    """Write a starter job: a commented job.toml and small lists that run as they are."""
    from combo.show.files import write_starter

    for path in write_starter(folder):
        print(visible(str(path)))


@app.command(short_help="Tell everything that is wrong with a job and its lists.")
def check(
    job: JobPath,
    problems: Annotated[
        Path | None, typer.Option(metavar="FILE.txt", help="Write every problem to a file: a long list may have many.")
    ] = None,
    force: Force = False,
) -> None:
    """Read a job and its lists, and tell everything that is wrong with them."""
    from combo.read.changes import list_changes
    from combo.show.files import write
    from combo.show.lists import show_lists
    from combo.show.terminal import console

    if problems is not None:
        _refuse_output(problems, job, force=force)
    try:
        loaded = _load(job)
    except Problems as found:
        if problems is not None:
            write(problems, (found.text() + "\n").encode(), force=force)
        raise
    show_lists(console(), loaded, list_changes(loaded.job))


@app.command(short_help="Look at a supplier's sheet and propose the rule for it.")
def sheet(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A price list, CSV or XLSX, as the supplier sends it.")],
    kind: Annotated[
        str, typer.Option(metavar="KIND", help="What it lists: wheels, tires, ...; else what its header says.")
    ] = "",
    sheet_name: Annotated[str | None, typer.Option("--sheet", metavar="NAME", help="The sheet of a workbook.")] = None,
    supplier: Annotated[str, typer.Option(metavar="NAME", help="Whose list it is, for the rule.")] = "",
    unit: Annotated[
        list[str] | None, typer.Option(metavar="COLUMN=UNIT", help="The unit of a column's bare numbers.")
    ] = None,
    header: Annotated[
        list[str] | None, typer.Option(metavar="COLUMN=FIELD", help="What a column is, in the README's words.")
    ] = None,
    write_rule: Annotated[
        bool, typer.Option("--write", help="Put the rule into suppliers.toml beside the list.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Look at a supplier's sheet: its header, what each column seems to be, in which unit, and why.

    It proposes the rule for it, and decides nothing.
    """
    from combo.read.propose import Answers, add_rules, proposed, rule_text
    from combo.show.lists import proposals_json, show_proposal
    from combo.show.terminal import console

    answers = Answers(kind, sheet_name, supplier, tuple(header or ()), tuple(unit or ()))
    proposals = proposed(file, answers)
    if as_json:
        print(proposals_json([one for one, _ in proposals]))
    else:
        for one, of_file in proposals:
            show_proposal(console(), one, rule_text(one, of_file))
    if write_rule:
        from combo.show.files import write

        path, text = add_rules(file, proposals)
        write(path, text.encode(), force=True)
        print(visible(str(path)), file=sys.stderr if as_json else sys.stdout)


@app.command(short_help="Rank the builds that pass every check.")
def rank(
    job: JobPath,
    top: TopCount = None,
    as_json: AsJson = False,
    as_csv: Annotated[bool, typer.Option("--csv", help="Print the shortlist as CSV.")] = False,
    stops: Annotated[
        bool, typer.Option("--stops", help="Ask which check truly stops a better build, not only which is tightest.")
    ] = False,
    time_limit: SearchLimit = TIME_LIMIT_S,
) -> None:
    """Rank the builds that pass every check, and tell what each check removed."""
    from combo.candidates.instance import Instance
    from combo.deadline import Clock, CutShortError
    from combo.search.filter import filter_lists
    from combo.search.topk import rank as ranked
    from combo.show.terminal import console, show_notices, show_ranking

    if as_json and as_csv:
        raise typer.BadParameter("--json and --csv: one of the two is accepted")
    loaded = _load(job)
    show_notices(console(stderr=True), loaded.notices)
    with _progress() as progress, _stopped_by_hand(Clock(time_limit)) as clock:
        progress(_pairing(loaded))
        instance = Instance(loaded.job, loaded.parts, clock)
        ranking = ranked(filter_lists(instance), top or loaded.job.shortlist.top, clock=clock, progress=progress)
    if stops:  # with nothing else going on, so that the work may be shared by forks
        from combo.explain.binding import with_stops

        try:
            with _searching(loaded, clock):
                ranking = with_stops(instance, ranking)
        except CutShortError:
            print("Cut short: which check stops a better build is not known; the tightest is told.", file=sys.stderr)
    if as_json or as_csv:
        from combo.show.machine import rank_csv, rank_json

        print(rank_json(ranking, loaded.parts) if as_json else rank_csv(ranking), end="\n" if as_json else "")
    else:
        show_ranking(console(), ranking, loaded.parts)
    raise typer.Exit(_status(clock, proven=ranking.proven and not clock.cut_short, found=bool(ranking.ranked)))


Sku = Annotated[str, typer.Option(metavar="SKU")]


@app.command(short_help="Explain every check of a choice of parts.")
def why(
    job: JobPath,
    wheel: Annotated[str, typer.Option(metavar="SKU", help="Wheel at both axles.")] = "",
    tire: Annotated[str, typer.Option(metavar="SKU", help="Tire at both axles.")] = "",
    spacer: Annotated[str, typer.Option(metavar="SKU", help="Spacer at both axles.")] = "",
    front_wheel: Sku = "",
    front_tire: Sku = "",
    front_spacer: Sku = "",
    rear_wheel: Sku = "",
    rear_tire: Sku = "",
    rear_spacer: Sku = "",
    ratio: Sku = "",
    differential: Sku = "",
    front_ratio: Sku = "",
    front_differential: Sku = "",
    ballast: Annotated[
        list[str] | None,
        typer.Option(metavar="COUNT*SKU@STATION", help='Such as "4*B-SAND60@over the axle"; may be given again.'),
    ] = None,
    most: Annotated[
        int, typer.Option(min=1, help="How many conflicts and changes are looked for where parts are in no build.")
    ] = 2,
    as_json: AsJson = False,
    time_limit: SearchLimit = TIME_LIMIT_S,
) -> None:
    """Explain every check of a choice of parts: what passes, what fails and by how much, what is still to be measured;
    of parts alone the best build with them, or what excludes them and what would let them in.
    """
    from combo.candidates.instance import Instance
    from combo.deadline import Clock
    from combo.explain.choice import Choice, Corner, ballast_of, of_both_axles, verdict
    from combo.explain.choice import why as explained
    from combo.explain.parts import outlook
    from combo.show.machine import why_json
    from combo.show.why import show_why

    front = Corner(front_wheel or wheel, front_tire or tire, front_spacer or spacer)
    rear = Corner(rear_wheel or wheel, rear_tire or tire, rear_spacer or spacer)
    loaded = _load(job)
    gears, carriers = of_both_axles(ratio, front_ratio), of_both_axles(differential, front_differential)
    choice = Choice(front, rear, gears, carriers, ballast_of(ballast or []))
    answer = explained(loaded.job, loaded.parts, choice)
    with _searching(loaded, Clock(time_limit)) as clock:
        told = outlook(Instance(loaded.job, loaded.parts, clock), choice, answer.results, most)
    decided = verdict(answer.results)
    _tell(
        loaded,
        why_json(loaded.job, decided, answer, told) if as_json else "",
        lambda out: show_why(out, loaded.job, choice, answer, decided, told),
    )
    raise typer.Exit(_status(clock, proven=told.proven))


@app.command(short_help="Tell why nothing fits, and the least to relax.")
def stuck(
    job: JobPath,
    most: Annotated[int, typer.Option(min=1, help="How many conflicts and changes are looked for.")] = 3,
    as_json: AsJson = False,
    time_limit: SearchLimit = TIME_LIMIT_S,
) -> None:
    """Tell which checks no build keeps together, and the fewest limits that must move for a build, with the build."""
    from combo.candidates.instance import Instance
    from combo.candidates.relaxed_limits import Pinned
    from combo.deadline import Clock
    from combo.explain.parts import standing
    from combo.show.explain import show_stuck
    from combo.show.machine import stuck_json

    loaded = _load(job)
    with _searching(loaded, Clock(time_limit)) as clock:
        found = standing(Instance(loaded.job, loaded.parts, clock), Pinned(), most)
    _tell(loaded, stuck_json(found) if as_json else "", lambda out: show_stuck(out, loaded.job, found))
    raise typer.Exit(_status(clock, proven=found.proven, found=found.best is not None))


@app.command(short_help="List the best builds that fail one limit.")
def near(
    job: JobPath,
    top: Annotated[int, typer.Option(min=1, help="How many builds.")] = 5,
    as_json: AsJson = False,
    time_limit: SearchLimit = TIME_LIMIT_S,
) -> None:
    """List the best builds that fail exactly one limit that may be moved, by how much, and which change mends each."""
    from combo.candidates.instance import Instance
    from combo.deadline import Clock
    from combo.explain.near import near_misses
    from combo.show.explain import show_near
    from combo.show.machine import near_json

    loaded = _load(job)
    with _searching(loaded, Clock(time_limit)) as clock:
        found = near_misses(Instance(loaded.job, loaded.parts, clock), top)
    _tell(loaded, near_json(found) if as_json else "", lambda out: show_near(out, loaded.job, found))
    raise typer.Exit(_status(clock, proven=found.proven))


@app.command(short_help="Put builds of the shortlist side by side.")
def compare(
    job: JobPath,
    ranks: Annotated[list[int], typer.Argument(metavar="RANK RANK...", help="Two or three ranks of the shortlist.")],
    as_json: AsJson = False,
    time_limit: SearchLimit = TIME_LIMIT_S,
) -> None:
    """Put builds of the shortlist side by side, check by check, with what each gives up against the others."""
    from combo.deadline import Clock
    from combo.explain.compare import compared
    from combo.search.filter import space_of
    from combo.search.topk import rank as ranked
    from combo.show.compare import show_compared
    from combo.show.machine import compared_json

    loaded = _load(job)
    with _stopped_by_hand(Clock(time_limit)) as clock:
        ranking = ranked(space_of(loaded.job, loaded.parts), max(ranks), clock=clock)
    found = compared(ranking, ranks)
    _tell(loaded, compared_json(ranking, found) if as_json else "", lambda out: show_compared(out, ranking, found))
    raise typer.Exit(_status(clock, proven=ranking.proven))


@app.command(short_help="Show what each check removes of the lists.")
def funnel(job: JobPath, picture: Picture = None, as_json: AsJson = False, force: Force = False) -> None:
    """Show how many wheels, tires, corners and drives each check removes, alone and in order."""
    from combo.explain.funnel import funnels
    from combo.search.filter import space_of
    from combo.show.funnel import show_funnels
    from combo.show.machine import funnel_json
    from combo.show.picture import funnel_picture

    _refuse_picture(picture, job, force=force)
    loaded = _load(job)
    found = funnels(space_of(loaded.job, loaded.parts))
    _tell(loaded, funnel_json(found) if as_json else "", lambda out: show_funnels(out, loaded.job, found))
    _write_picture(picture, lambda: funnel_picture(loaded.job, found), force=force)


@app.command(short_help="Tell what moving a limit would buy.")
def limits(
    job: JobPath,
    of: Annotated[
        str, typer.Option(metavar="ENTRY", help='Every step of one limit, such as "budget"; else each limit given up.')
    ] = "",
    picture: Picture = None,
    as_json: AsJson = False,
    time_limit: SearchLimit = TIME_LIMIT_S,
    force: Force = False,
) -> None:
    """Tell which limits to relax, one at a time, for a better build, how far, and for what build."""
    from combo.candidates.instance import Instance
    from combo.deadline import Clock
    from combo.explain.limits import limits_named, movable
    from combo.explain.parts import found_in_time
    from combo.explain.sweep import Gains, Sweep, gains, steps
    from combo.show.limits import show_gains, show_steps
    from combo.show.machine import gains_json, steps_json
    from combo.show.picture import steps_picture
    from combo.show.terminal import console, show_notices

    if picture is not None and not of:
        raise typer.BadParameter("--picture shows the steps of one limit: --of is wanted with it")
    _refuse_picture(picture, job, force=force)
    loaded = _load(job)
    asked = limits_named(loaded.job, of) if of else movable(loaded.job)
    show_notices(console(stderr=True), loaded.notices)
    if of:
        with _searching(loaded, Clock(time_limit)) as clock:
            instance = Instance(loaded.job, loaded.parts, clock)
            now, is_best = found_in_time(instance)
            several = [(limit, steps(instance, limit, now) if is_best else Sweep((), proven=False)) for limit in asked]
        proven = all(walked.proven for _, walked in several)
        if as_json:
            print(steps_json(now, several))
        else:
            for limit, found in several:
                show_steps(console(), loaded.job, now, limit, found)
        _write_picture(picture, lambda: steps_picture(loaded.job, now, *several[0]), force=force)
    else:
        with _searching(loaded, Clock(time_limit)) as clock:
            instance = Instance(loaded.job, loaded.parts, clock)
            now, is_best = found_in_time(instance)
            gained = gains(instance, now) if is_best else Gains((), asked)
        proven = not gained.unknown
        if as_json:
            print(gains_json(now, gained))
        else:
            show_gains(console(), loaded.job, now, gained, asked)
    raise typer.Exit(_status(clock, proven=proven))


@app.command(short_help="Write the shortlist as a workbook.")
def export(
    job: JobPath,
    output: Annotated[Path, typer.Option("--output", "-o", metavar="FILE.xlsx", help="The workbook to write.")],
    top: TopCount = None,
    time_limit: TimeLimit = None,
    force: Force = False,
) -> None:
    """Write the shortlist as a workbook: builds, their checks, rejected candidates with reasons, assumptions."""
    from combo.deadline import Clock
    from combo.explain.rejected import rejected
    from combo.search.filter import space_of
    from combo.search.topk import rank as ranked
    from combo.show.files import refuse_other_name, write
    from combo.show.workbook import workbook

    refuse_other_name(output, ".xlsx")
    _refuse_output(output, job, force=force)
    loaded = _load(job)
    with _progress() as progress, _stopped_by_hand(Clock(time_limit)) as clock:
        progress(_pairing(loaded))
        reduced = space_of(loaded.job, loaded.parts)
        ranking = ranked(reduced, top or loaded.job.shortlist.top, clock=clock, progress=progress)
        progress("asking of each part left over whether any build holds it")
        reasons = rejected(loaded.job, loaded.parts, ranking, Clock(time_limit))
    write(output, workbook(loaded, ranking, reasons), force=force)
    print(visible(str(output)))
    if not ranking.ranked:
        print("No build passes every check; the workbook tells why.", file=sys.stderr)
    raise typer.Exit(_status(clock, proven=ranking.proven, found=bool(ranking.ranked)))


@app.command(short_help="Print the measuring sheet.")
def measure(
    job: JobPath,
    output: Annotated[
        Path | None, typer.Option("--output", "-o", metavar="FILE.txt", help="Write the sheet to a file to print.")
    ] = None,
    blank: Annotated[bool, typer.Option("--blank", help="Leave every value blank, to be written in by hand.")] = False,
    as_json: AsJson = False,
    force: Force = False,
) -> None:
    """Print the measuring sheet: every measurement of the truck, what is known, what a check still waits for."""
    from combo.explain.missing import measurements, questions_left
    from combo.search.filter import space_of
    from combo.search.pool import rows_left
    from combo.show.files import write
    from combo.show.machine import measure_json
    from combo.show.sheet import measuring_sheet

    if output is not None:
        _refuse_output(output, job, force=force)
    loaded = _load(job)
    reduced = space_of(loaded.job, loaded.parts)
    lines, asked = measurements(loaded.job, every_state=blank), questions_left(reduced, rows_left(reduced))
    text = measure_json(lines, asked) + "\n" if as_json else measuring_sheet(loaded.job, lines, asked, blank=blank)
    if output is None:
        print(text, end="")
    else:
        write(output, text.encode(), force=force)
        print(visible(str(output)))


@app.command(short_help="Compare what is there with the parts on with what was computed.")
def fitted(job: JobPath, as_json: AsJson = False) -> None:
    """Compare what was measured with the parts on, in [fitted], with what was computed, and tell which entry is off."""
    from combo.explain.fitted import fitted as compared
    from combo.show.fitted import fitted_json, show_fitted

    loaded = _load(job)
    fit = compared(loaded.job, loaded.parts, "job.toml" if job.is_dir() else job.name)
    _tell(loaded, fitted_json(loaded.job, fit) if as_json else "", lambda out: show_fitted(out, loaded.job, fit))


@app.command(short_help="Rank every job of a folder.")
def batch(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Its jobs: every .toml file with a [job] table.")],
    output: Annotated[
        Path, typer.Option("--output", "-o", metavar="OUT", help="Folder of the results; made where it is not there.")
    ],
    top: TopCount = None,
    processes: Annotated[int | None, typer.Option(min=1, help="Jobs at once; else one a core.")] = None,
    scheduler: Annotated[
        str,
        typer.Option(
            metavar="ADDRESS",
            help="Run on the Dask cluster of this scheduler, such as tcp://10.0.0.5:8786. Its workers read FOLDER and "
            "the lists under the same paths, from a file system that all share; OUT is written here alone. Needs "
            "combo[cluster], in one version everywhere.",
        ),
    ] = "",
    time_limit: TimeLimit = None,
    no_workbooks: Annotated[bool, typer.Option("--no-workbooks", help="The table alone, which is faster.")] = False,
    force: Annotated[
        bool, typer.Option("--force", help="Write into OUT though other things, or other results, are there.")
    ] = False,
    as_json: AsJson = False,
) -> None:
    """Rank every job of a folder: one table, a workbook a job. The same command goes on where it was stopped."""
    from combo.batch.run import INTERRUPTED, Hands, run
    from combo.batch.table import batch_json
    from combo.batch.tell import counting, show_batch, stopped
    from combo.batch.work import Options
    from combo.show.terminal import console

    if scheduler and processes:
        raise typer.BadParameter("--processes and --scheduler: one of the two is accepted")
    with counting(console(stderr=True)) as progress:
        options, hands = Options(top, time_limit, not no_workbooks), Hands(processes, scheduler)
        done = run(folder, output, options, hands, force=force, progress=progress)
    if as_json:
        print(batch_json(done.outcomes))
    else:
        show_batch(console(), done)
    if done.stopped:
        print(visible(stopped(done)), file=sys.stderr)
    raise typer.Exit(INTERRUPTED_STATUS if done.stopped == INTERRUPTED else 0 if done.has_answers() else BAD_INPUT)


def _load(job: Path) -> Loaded:
    from combo.read.load import load

    path = _job_file(job)
    if path.exists() and not path.is_file() and not path.is_dir():  # it might never come to an end
        raise Problems([Problem(Place(str(path)), "not-a-file", "it is a pipe or a device", "a job file is expected")])
    return load(path)


def _job_file(job: Path) -> Path:
    return job / "job.toml" if job.is_dir() else job


def _refuse_output(output: Path, job: Path, *, force: bool) -> None:
    """Raise Problems where an output is there and `force` is not given, or where it is the job or one of its lists."""
    from combo.show.files import refuse_existing, refuse_inputs

    if output.exists():
        refuse_inputs(output, _inputs(_job_file(job)))
    refuse_existing(output, force=force)


def _inputs(path: Path) -> list[Path]:
    """The job file and the lists that it names, as far as it can be read."""
    from combo.read.rules import SHARED
    from combo.read.toml import read_job
    from combo.show.files import LISTS

    if not path.is_file():
        return [path]
    files = read_job(path, Report())[1]
    instance = [one for plural in LISTS for one in getattr(files, plural)]
    shared = {Path(one.path).parent / SHARED for one in instance}
    return [path, *sorted(shared), *(Path(name) for one in instance for name in (one.path, one.older) if name)]


def _status(clock: Clock, *, proven: bool, found: bool = True) -> int:
    """What a search ends with: that nothing fits only where it is proven."""
    if not proven:
        return INTERRUPTED_STATUS if clock.by_hand else CUT_SHORT
    return 0 if found else NOTHING_FITS


def _tell(loaded: Loaded, json_text: str, show: Callable[[Console], None]) -> None:
    """Print the JSON, where there is one, else what reading had to tell and the answer for people."""
    from combo.show.terminal import console, show_notices

    if json_text:
        print(json_text)
    else:
        show_notices(console(stderr=True), loaded.notices)
        show(console())


def _refuse_picture(picture: Path | None, job: Path, *, force: bool) -> None:
    from combo.show.files import refuse_other_name

    if picture is not None:
        refuse_other_name(picture, ".svg")
        _refuse_output(picture, job, force=force)


def _write_picture(picture: Path | None, draw: Callable[[], str], *, force: bool) -> None:
    from combo.show.files import write

    if picture is not None:
        write(picture, draw().encode(), force=force)


def _pairing(loaded: Loaded) -> str:
    wheels, tires = len(loaded.parts.wheels), len(loaded.parts.tires)
    return f"pairing {wheels:,} wheels with {tires:,} tires and spacers"


@contextmanager
def _searching(loaded: Loaded, clock: Clock) -> Iterator[Clock]:
    """All cores share the searches inside, which Ctrl-C ends with what they have found; a terminal is told of them, not
    by a thread, beside which none may fork.
    """
    from combo.explain.workers import on_all_cores

    text = f"searching {len(loaded.parts.wheels):,} wheels and {len(loaded.parts.tires):,} tires"
    is_told = sys.stderr.isatty()
    if is_told:
        print(text, end="\r", file=sys.stderr, flush=True)
    try:
        with _stopped_by_hand(clock), on_all_cores(lambda: clock.by_hand):
            yield clock
    finally:
        if is_told:
            print(" " * len(text), end="\r", file=sys.stderr, flush=True)


@contextmanager
def _stopped_by_hand(clock: Clock) -> Iterator[Clock]:
    """Ctrl-C ends the search with what it has found; a second one ends the program."""
    before = signal.getsignal(signal.SIGINT)

    def stop(number: int, frame: object) -> None:
        signal.signal(signal.SIGINT, before)
        clock.stop()

    try:
        signal.signal(signal.SIGINT, stop)
        yield clock
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def _progress() -> Iterator[Callable[[str], None]]:
    """Tells what is being done, on a terminal only; the line is gone when the work is done."""
    from combo.show.terminal import console

    err = console(stderr=True)
    if not err.is_terminal:
        yield lambda text: None
        return
    with err.status("") as status:
        yield status.update
