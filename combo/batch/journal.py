"""The folder of results: what is finished stands in its journal, so that a batch goes on where it stopped."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import sys
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import IO, Any

from combo.batch.jobs import workbook_name
from combo.batch.work import ANSWERS, ERROR, BestOfJob, Done, Outcome, Task
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
_CHECKSUM = b', "checksum": "'

Entry = dict[str, Any]


class Journal:
    """Outcomes of finished jobs: a line each, with a checksum, on the disk before the next is written.

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
            except (OSError, Problems) as error:
                why = error.strerror if isinstance(error, OSError) else error.problems[0].found
                told = f"its workbook could not be written: {why}"
                outcome = Outcome(outcome.path, outcome.name, ERROR, error=told, seconds=outcome.seconds)
        if outcome.status != ERROR:
            self._enter({"key": self._keys[outcome.path], **asdict(outcome)})
        return outcome

    def _enter(self, entry: Entry) -> None:
        try:
            self._file.write(_line(entry).encode())
            self._file.flush()
            os.fsync(self._file.fileno())
        except OSError as error:
            raise OSError(error.errno, error.strerror, str(self.folder / JOURNAL)) from error

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
        raise Problems(
            [
                Problem(
                    Place(str(folder)),
                    "not-a-folder",
                    "a file of that name is there",
                    "a folder for the results is expected",
                )
            ]
        )
    if not force:
        found = _read(folder / JOURNAL)
        paths = [*(task.job.path for task in tasks), *(entry["path"] for entry in found.entries)]
        _refuse_foreign(folder, found, paths)
        _refuse_other_source(folder, found, source)
    folder.mkdir(parents=True, exist_ok=True)
    with _locked(folder):
        _clear_leftovers(folder)
        found = _read(folder / JOURNAL)
        if found.damaged:
            lines = "1 line is" if found.damaged == 1 else f"{found.damaged:,} lines are"
            print(f"{folder / JOURNAL}: {lines} damaged and left out; what they told is done again", file=sys.stderr)
        journal = Journal(folder, source, tasks, found.entries)
        try:
            yield journal
        finally:
            journal.close()


@dataclass(frozen=True)
class _Found:
    """What stands in a journal; `header` is None where its line is damaged. Without any line it is no journal."""

    header: Entry | None = None
    entries: list[Entry] = field(default_factory=list)
    damaged: int = 0

    def is_journal(self) -> bool:
        return self.header is not None or bool(self.entries)


def _read(path: Path) -> _Found:
    """What stands in a journal. A last line that was torn off by a stop is no damage."""
    if not path.is_file():
        return _Found()
    first, *others = path.read_bytes().split(b"\n")
    header = _entry(first)
    if header is not None and (header.get("format") != FORMAT or "batch of" not in header):
        return _Found()
    whole = [_entry(line) for line in others[:-1]]
    damaged = whole.count(None) + (header is None)
    return _Found(header, [entry for entry in whole if entry is not None], damaged)


def _entry(line: bytes) -> Entry | None:
    """What a line tells; None where it is damaged."""
    text, mark, checksum = line.rpartition(_CHECKSUM)
    if not mark or checksum != _checksum(text) + b'"}':
        return None
    entry: Entry = json.loads(text + b"}")
    return entry


def _line(entry: Entry) -> str:
    """A line: its checksum, of all that stands before it, comes last."""
    text = json.dumps(entry).removesuffix("}").encode()
    return (text + _CHECKSUM + _checksum(text) + b'"}\n').decode()


def _checksum(text: bytes) -> bytes:
    return hashlib.sha256(text).hexdigest()[:16].encode()


def _outcome(entry: Entry) -> Outcome:
    told = {name: value for name, value in entry.items() if name != "key"}
    told["best"] = BestOfJob(**told["best"]) if told["best"] else None
    told["problems"] = tuple(Problem(**{**one, "place": Place(**one["place"])}) for one in told["problems"])
    return Outcome(**told)


def _refuse_foreign(folder: Path, found: _Found, paths: list[str]) -> None:
    books = {f"{WORKBOOKS}/{workbook_name(path)}" for path in paths}
    own = {JOURNAL, TABLE, WORKBOOKS} | books if found.is_journal() else set()
    there = [path for one in (folder, folder / WORKBOOKS) if one.is_dir() for path in sorted(one.iterdir())]
    foreign = [path for path in there if path.relative_to(folder).as_posix() not in own and path.name[0] != "."]
    if foreign:
        raise Problems(
            [
                Problem(
                    Place(str(path)),
                    "file-exists",
                    "this is no part of a batch's results",
                    "an empty folder, or one with a batch's results alone, is accepted",
                    "With --force what has another name than the results stays as it is",
                )
                for path in foreign[:_TOLD]
            ]
        )


def _refuse_other_source(folder: Path, found: _Found, source: Path) -> None:
    header = found.header
    if header is not None and header["batch of"] != str(source):
        raise Problems(
            [
                Problem(
                    Place(str(folder)),
                    "file-exists",
                    f'the results of "{header["batch of"]}" are there',
                    f'a folder of its own for those of "{source}" is accepted',
                    "With --force they are replaced",
                )
            ]
        )


@contextmanager
def _locked(folder: Path) -> Iterator[None]:
    """The folder for one batch alone. The lock ends with the process that holds it; its workers do not inherit it."""
    with open(folder / _LOCK, "ab") as file:
        if fcntl is not None:
            try:
                fcntl.lockf(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except (BlockingIOError, PermissionError):
                raise Problems(
                    [
                        Problem(
                            Place(str(folder)),
                            "in-use",
                            "another batch writes its results there now",
                            "a folder that none writes into is accepted",
                        )
                    ]
                ) from None
            except OSError:
                pass  # a file system without locks
        yield


def _clear_leftovers(folder: Path) -> None:
    """Remove what a stop in the middle of writing has left, under the names that files are first written to."""
    for pattern in (f".{JOURNAL}.*", f".{TABLE}.*", f"{WORKBOOKS}/.*.xlsx.*"):
        for path in folder.glob(pattern):
            with contextlib.suppress(OSError):
                path.unlink()
