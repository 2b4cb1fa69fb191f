"""The jobs of a folder, each with a digest of all that its answer rests on."""

from __future__ import annotations

import hashlib
import json
import os
import re
import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from combo.parts import KINDS
from combo.problems import Place, Problem, Problems
from combo.read.rules import PATTERN, SHARED

_JOB_TABLE = re.compile(rb"^\s*\[\s*job\s*\]", re.MULTILINE)
_BYTE_ORDER_MARKS = b"\xef\xbb\xbf\xff\xfe"
_LONGEST_NAME = 240
"""Bytes of a file's name: file systems take 255, and a file is written under a longer name first."""


@dataclass(frozen=True)
class JobFile:
    """A job of a folder: `path` from the folder on, with / between; `digest` of the job file and every list it names;
    `lists` of those lists alone, so that jobs on the same lists are known.
    """

    path: str
    file: Path
    name: str
    digest: str
    lists: str


def find_jobs(folder: Path) -> list[JobFile]:
    """Every job of a folder, at any depth, in the order of the paths.

    A job is a file that ends in .toml and holds a table [job]; one that cannot be read as TOML but looks like a job is
    one too, so that what is wrong with it is told.

    Raises
    ------
    Problems
        Where the folder, or one in it, cannot be read, a name is not text, or no job is there.
    """
    if not folder.is_dir():
        raise Problems(
            [
                Problem(
                    Place(str(folder)), "missing-folder", f'no folder "{folder}"', "a folder with job files is expected"
                )
            ]
        )
    found = {file.relative_to(folder).as_posix(): file for file in _toml_files(folder)}
    _refuse_names_that_are_no_text(found)
    jobs = [job for path in sorted(found) if (job := job_file(path, found[path])) is not None]
    if not jobs:
        raise Problems(
            [
                Problem(
                    Place(str(folder)),
                    "no-jobs",
                    "no job in this folder",
                    "files that end in .toml and hold a table [job] are expected",
                    "combo new DIR writes one",
                )
            ]
        )
    return jobs


def job_file(path: str, file: Path) -> JobFile | None:
    """A file as a job of a folder; None where it is none. One that cannot be read is left to reading the job."""
    try:
        raw = file.read_bytes()
    except OSError:
        return JobFile(path, file, "", "", "")
    tables = _tables(raw)
    if tables is None:
        # a job saved as UTF-16 is text between zero bytes, and reading it tells so
        text = raw.lstrip(_BYTE_ORDER_MARKS).replace(b"\0", b"")
        tables = {"job": {}} if _JOB_TABLE.search(text) else {}
    about = tables.get("job")
    if not isinstance(about, dict):
        return None
    name = about.get("name")
    lists = _digest([[named, _contents(file.parent, named)] for named in _lists(tables)])
    digest = _digest([hashlib.sha256(raw).hexdigest(), lists])
    return JobFile(path, file, name if isinstance(name, str) else "", digest, lists)


def workbook_name(path: str) -> str:
    """Name of a job's workbook, all in one folder: trucks/red/job.toml gives trucks__red__job.xlsx."""
    return f"{path.removesuffix('.toml').replace('/', '__')}.xlsx"


def refuse_workbook_names(jobs: list[JobFile]) -> None:
    """Raise Problems where two jobs would write the same workbook, or a name is longer than files may have."""
    problems, taken = [], dict[str, str]()
    for job in jobs:
        name = workbook_name(job.path)
        other = taken.setdefault(name.casefold(), job.path)  # some file systems know no difference of case
        if other != job.path:
            problems.append(
                Problem(
                    Place(job.path),
                    "same-name",
                    f'its workbook, "{name}", is that of "{other}" too',
                    "another name of the file or its folder is accepted",
                )
            )
        if len(name.encode()) > _LONGEST_NAME:
            problems.append(
                Problem(
                    Place(job.path),
                    "long-name",
                    "the name of its workbook would be too long",
                    f"up to {_LONGEST_NAME} bytes are accepted, or --no-workbooks",
                )
            )
    if problems:
        raise Problems(problems)


def _toml_files(folder: Path) -> Iterator[Path]:
    problems: list[Problem] = []

    def unreadable(error: OSError) -> None:
        problems.append(
            Problem(
                Place(str(error.filename)),
                "unreadable-folder",
                "this folder cannot be read",
                "a folder that may be read is expected",
            )
        )

    for root, _, names in os.walk(folder, onerror=unreadable):
        yield from (Path(root, name) for name in names if name.endswith(".toml") and Path(root, name).is_file())
    if problems:
        raise Problems(problems)


def _refuse_names_that_are_no_text(paths: Iterable[str]) -> None:
    problems = []
    for path in paths:
        shown = path.encode("utf-8", "backslashreplace").decode()
        if shown != path:
            problems.append(Problem(Place(shown), "not-utf-8", "a name that is not UTF-8", "rename it"))
    if problems:
        raise Problems(problems)


def _tables(raw: bytes) -> dict[str, Any] | None:
    try:
        return tomllib.loads(raw.decode("utf-8-sig"))
    except (ValueError, RecursionError):  # neither TOML nor text is a ValueError
        return None


def _lists(tables: dict[str, Any]) -> list[str]:
    """Paths of the lists that [files] names, as written there. What is no path there is told when the job is read."""
    files = tables.get("files")
    entries = [files.get(plural, []) for plural in KINDS] if isinstance(files, dict) else []
    each = [one for entry in entries for one in (entry if isinstance(entry, list) else [entry])]
    named = [one.get("path") if isinstance(one, dict) else one for one in each]
    return [one for one in named if isinstance(one, str)]


def _contents(folder: Path, named: str) -> list[list[str]]:
    """Names and digests of the files that a list's path or pattern means, and of the rules beside them."""
    try:
        files = sorted(folder.glob(named)) if PATTERN & set(named) else []
    except (OSError, ValueError, NotImplementedError):  # no pattern that can be looked for: reading the job tells
        files = []
    files = files or [folder / named]
    return [[one.name, _content(one)] for one in (*files, files[0].parent / SHARED)]


def _content(file: Path) -> str:
    """Digest of a file's content, "" where it cannot be read; read anew only where its size or time has changed."""
    try:
        state = file.stat()
        return _read_content(str(file), state.st_size, state.st_mtime_ns)
    except (OSError, ValueError):  # a name with a zero byte is a ValueError
        return ""


@lru_cache(maxsize=4096)
def _read_content(file: str, size: int, changed_ns: int) -> str:
    return hashlib.sha256(Path(file).read_bytes()).hexdigest()


def _digest(what: list[Any]) -> str:
    return hashlib.sha256(json.dumps(what).encode()).hexdigest()
