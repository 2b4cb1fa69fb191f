"""The folder of results: what is finished stands in its journal, so that a batch goes on where it stopped."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, replace
from pathlib import Path
from typing import IO, Any

from combo.batch.jobs import workbook_name
from combo.batch.work import ANSWERS, ERROR, Best, Done, Outcome, Task
from combo.problems import Place, Problem, Problems
from combo.show.files import write

try:
    import fcntl
except ImportError:  # Windows: two batches into one folder are not noticed there
    fcntl = None  # type: ignore[assignment]

FORMAT = 1
JOURNAL = "finished.jsonl"
TABLE = "results.csv"
WORKBOOKS = "workbooks"
_LOCK = ".lock"
_TOLD = 5

Entry = dict[str, Any]


class Journal:
    """Outcomes of finished jobs: a line each, on the disk before the next is written.

    A line has the key of its task: its path, all that it reads, the version, what was asked. An outcome is taken from
    the journal where its key is still that of the job. What kept a job from an answer may have passed, so such a job is
    not entered, and is tried again.
    """

    def __init__(self, folder: Path, source: Path, tasks: Iterable[Task], entries: list[Entry]) -> None:
        self.folder = folder
        self._keys = {task.job.path: key_of(task) for task in tasks}
        wanted = {task.job.path for task in tasks if task.options.workbooks}
        kept = {entry["path"]: entry for entry in entries if self._is_kept(entry, entry["path"] in wanted)}
        self.taken = {path: _outcome(entry) for path, entry in kept.items() if path in self._keys}
        lines = [{"format": FORMAT, "batch of": str(source)}, *kept.values()]
        write(folder / JOURNAL, "".join(map(_line, lines)).encode(), force=True)
        self._file: IO[bytes] = open(folder / JOURNAL, "ab")  # noqa: SIM115 - open as long as the batch runs

    def keep(self, done: Done) -> Outcome:
        """Write what is done: the workbook first, so that no line stands for one that is not there."""
        outcome = done.outcome
        if done.workbook is not None:
            try:
                outcome = replace(outcome, workbook=self._write_workbook(outcome.path, done.workbook))
            except OSError as error:
                told = f"its workbook could not be written: {error.strerror}"
                outcome = Outcome(outcome.path, outcome.name, ERROR, error=told, seconds=outcome.seconds)
        if outcome.status != ERROR:
            entry = {"key": self._keys[outcome.path], **asdict(outcome)}
            self._file.write(_line(entry).encode())
            self._file.flush()
            os.fsync(self._file.fileno())
        return outcome

    def close(self) -> None:
        """Let go of the file."""
        self._file.close()

    def _is_kept(self, entry: Entry, needs_workbook: bool) -> bool:
        """An entry of a job that is gone is kept too: it tells whose workbook is there."""
        if entry["path"] not in self._keys:
            return True
        if needs_workbook and entry["status"] in ANSWERS:
            name = entry.get("workbook")
            if not name or not (self.folder / name).is_file():
                return False
        return bool(entry["key"] == self._keys[entry["path"]])

    def _write_workbook(self, path: str, content: bytes) -> str:
        name = f"{WORKBOOKS}/{workbook_name(path)}"
        (self.folder / WORKBOOKS).mkdir(exist_ok=True)
        write(self.folder / name, content, force=True)
        return name


def key_of(task: Task) -> str:
    """What an outcome rests on: another key, another outcome."""
    options = task.options
    rests_on = [task.job.path, task.job.digest, task.version, options.top, options.time_limit_s]
    return hashlib.sha256(json.dumps(rests_on).encode()).hexdigest()


@contextmanager
def opened(folder: Path, source: Path, tasks: list[Task], *, force: bool = False) -> Iterator[Journal]:
    """The journal of a folder of results, made where it is not there.

    Raises
    ------
    Problems
        Where the folder holds anything that is not a batch's own, or the results of another folder, and `force` is not
        given; or where another batch writes into it now.
    """
    if folder.exists() and not folder.is_dir():
        raise Problems([Problem(Place(str(folder)), "not-a-folder", "a file of that name is there",
                                "a folder for the results is expected")])  # fmt: skip
    header, entries = _read(folder / JOURNAL)
    if not force:
        _refuse_foreign(folder, header, [*(task.job.path for task in tasks), *(entry["path"] for entry in entries)])
        _refuse_other_source(folder, header, source)
    folder.mkdir(parents=True, exist_ok=True)
    with _locked(folder):
        _clear_leftovers(folder)
        journal = Journal(folder, source, tasks, _read(folder / JOURNAL)[1])
        try:
            yield journal
        finally:
            journal.close()


def _read(path: Path) -> tuple[Entry | None, list[Entry]]:
    """Header and entries of a journal; None where it is no journal. A line that was torn off by a stop is none."""
    try:
        lines = [_entry(line) for line in path.read_bytes().split(b"\n")]
    except OSError:
        return None, []
    header = lines[0] if lines else None
    if header is None or header.get("format") != FORMAT or "batch of" not in header:
        return None, []
    return header, [entry for entry in lines[1:] if entry is not None and set(entry) >= {"key", "path", "status"}]


def _entry(line: bytes) -> Entry | None:
    try:
        entry = json.loads(line)
    except ValueError:
        return None
    return entry if isinstance(entry, dict) else None


def _line(entry: Entry) -> str:
    return json.dumps(entry, ensure_ascii=False) + "\n"


def _outcome(entry: Entry) -> Outcome:
    told = {name: value for name, value in entry.items() if name != "key"}
    told["best"] = Best(**told["best"]) if told["best"] else None
    told["problems"] = tuple(Problem(**{**one, "place": Place(**one["place"])}) for one in told["problems"])
    return Outcome(**told)


def _refuse_foreign(folder: Path, header: Entry | None, paths: list[str]) -> None:
    own = {JOURNAL, TABLE, WORKBOOKS} | {f"{WORKBOOKS}/{workbook_name(path)}" for path in paths} if header else set()
    there = [path for one in (folder, folder / WORKBOOKS) if one.is_dir() for path in sorted(one.iterdir())]
    foreign = [path for path in there if path.relative_to(folder).as_posix() not in own and path.name[0] != "."]
    if foreign:
        raise Problems([Problem(Place(str(path)), "file-exists", "this is no part of a batch's results",
                                "an empty folder, or one with a batch's results alone, is accepted",
                                "With --force what has another name than the results stays as it is")
                        for path in foreign[:_TOLD]])  # fmt: skip


def _refuse_other_source(folder: Path, header: Entry | None, source: Path) -> None:
    if header is not None and header["batch of"] != str(source):
        raise Problems([Problem(Place(str(folder)), "file-exists", f'the results of "{header["batch of"]}" are there',
                                f'a folder of its own for those of "{source}" is accepted',
                                "With --force they are replaced")])  # fmt: skip


@contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """The folder for one batch alone. The lock ends with the process that holds it; its workers do not inherit it."""
    with open(folder / _LOCK, "ab") as file:
        if fcntl is not None:
            try:
                fcntl.lockf(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except (BlockingIOError, PermissionError):
                raise Problems([Problem(Place(str(folder)), "in-use", "another batch writes its results there now",
                                        "a folder that none writes into is accepted")]) from None  # fmt: skip
            except OSError:
                pass  # a file system without locks
        yield


def _clear_leftovers(folder: Path) -> None:
    """Remove what a stop in the middle of writing has left, under the names that files are first written to."""
    for pattern in (f".{JOURNAL}.*", f".{TABLE}.*", f"{WORKBOOKS}/.*.xlsx.*"):
        for path in folder.glob(pattern):
            with contextlib.suppress(OSError):
                path.unlink()
