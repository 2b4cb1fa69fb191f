"""Lists that have been read before: kept in memory, and in the user's cache folder for the next time.

What is kept is named by a digest of all that reading looks at (the files byte for byte, how they are named and mapped,
and the code that reads), so it is never older than what it stands for. It is data and no code: numbers as arrays, texts
as JSON, so that a file put there by somebody else can do no more than be refused. The folder may be deleted at any
time; the environment variable COMBO_NO_CACHE, which `combo --no-cache` sets, leaves it alone.
"""

from __future__ import annotations

import functools
import hashlib
import io
import json
import os
import sys
import tempfile
from collections import OrderedDict
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

import combo
from combo.job import ListFile
from combo.parts import Kind
from combo.problems import Place, Problem
from combo.read.lists import SheetRead
from combo.read.report import SetAside
from combo.units import DOLLAR, Currency

OFF_VARIABLE = "COMBO_NO_CACHE"
_IN_MEMORY, _ON_DISK = 24, 256
"""How many lists of a kind are kept, those used last."""


@dataclass(frozen=True)
class Kept:
    """Lists of a kind as they were read: the part table, the unclaimed columns, and what there was to tell."""

    table: pd.DataFrame
    extra: pd.DataFrame
    problems: tuple[Problem, ...] = ()
    notices: tuple[Problem, ...] = ()
    aside: tuple[SetAside, ...] = ()
    sheets: tuple[SheetRead, ...] = ()


_memory: OrderedDict[str, Kept] = OrderedDict()


@dataclass(frozen=True)
class Wanted:
    """Lists of a kind, how their headers are mapped, the job's currency, and whether a bad row stops: all that reading
    looks at.
    """

    kind: Kind
    files: tuple[ListFile, ...]
    mapped: dict[str, str]
    currency: Currency = DOLLAR
    stops: bool = False

    @functools.cached_property
    def key(self) -> str:
        """Digest of all that reading looks at, as it was when it was first asked for."""
        return self.digest()

    @property
    def size(self) -> int:
        """Bytes of the lists."""
        return sum(Path(file.path).stat().st_size for file in self.files if Path(file.path).is_file())

    def digest(self) -> str:
        """As `key`, as it is now."""
        files = [{**asdict(file), "price_factor": str(file.price_factor)} for file in self.files]
        rates = [[code, str(rate)] for code, rate in self.currency.rates]
        named = [
            self.kind.name,
            files,
            sorted(self.mapped.items()),
            self.currency.code,
            rates,
            self.stops,
            np.__version__,
        ]
        digest = hashlib.sha256(_code() + json.dumps(named).encode())
        for file in self.files:
            digest.update(_digest_of(Path(file.path)))
        return digest.hexdigest()


def kept_of(wanted: Wanted) -> Kept | None:
    """What was kept of these lists; None where nothing was."""
    kept = _memory.get(wanted.key) or _from_disk(wanted.key)
    if kept is not None:
        _remember(wanted.key, kept)
    return kept


def keep(wanted: Wanted, kept: Kept) -> None:
    """Keep what reading gave, unless a file was changed while it was read; `wanted.key` was asked for before that."""
    if wanted.digest() == wanted.key:
        _remember(wanted.key, kept)
        if wanted.files:
            _to_disk(wanted.key, kept)


def _remember(key: str, kept: Kept) -> None:
    """Keep it in memory, and let go of what was used longest ago."""
    _memory[key] = kept
    _memory.move_to_end(key)
    while len(_memory) > _IN_MEMORY:
        _memory.popitem(last=False)


def folder() -> Path:
    """The user's cache folder; RuntimeError where the user has no home."""
    by_system = os.environ.get("LOCALAPPDATA") if sys.platform == "win32" else os.environ.get("XDG_CACHE_HOME")
    return Path(by_system) / "combo" if by_system else Path.home() / ".cache" / "combo"


def _digest_of(path: Path) -> bytes:
    """Digest of a file; of none where there is no file."""
    if not path.is_file():
        return hashlib.sha256().digest()
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").digest()


@functools.cache
def _code() -> bytes:
    """Digest of the code that reads: what another version has kept is never taken."""
    root = Path(combo.__file__).parent
    sources = [
        *sorted((root / "read").glob("*.py")),
        *sorted((root / "formulas").glob("*.py")),
        root / "units.py",
        root / "parts.py",
        root / "problems.py",
        root / "plausible.py",
        root / "fasteners.py",
    ]
    return hashlib.sha256(b"".join(path.read_bytes() for path in sources)).digest()


def _from_disk(key: str) -> Kept | None:
    if os.environ.get(OFF_VARIABLE):
        return None
    try:
        path = folder() / f"{key}.list"
        content = path.read_bytes()
        digest, body = content[:32], content[32:]
        if hashlib.sha256(body).digest() != digest:
            return None
        os.utime(path)
        return _unpacked(body)
    except Exception:  # whatever is wrong with it, the lists are read again
        return None


def _to_disk(key: str, kept: Kept) -> None:
    """Keep it, whole or not at all; where that cannot be, it is read again the next time."""
    if os.environ.get(OFF_VARIABLE):
        return
    temporary = ""
    try:
        body = _packed(kept)
        folder().mkdir(parents=True, exist_ok=True, mode=0o700)
        handle, temporary = tempfile.mkstemp(dir=folder(), prefix=".new")
        with os.fdopen(handle, "wb") as file:
            file.write(hashlib.sha256(body).digest() + body)
        os.replace(temporary, folder() / f"{key}.list")
        lists = sorted(folder().glob("*.list"), key=lambda path: path.stat().st_mtime)
        for old in lists[:-_ON_DISK]:
            old.unlink(missing_ok=True)
    except (OSError, RuntimeError, ValueError):  # no room, no home folder, a clock that no archive can have
        if temporary:
            Path(temporary).unlink(missing_ok=True)


def _packed(kept: Kept) -> bytes:
    """What is kept as arrays, none of them of objects: a text column is its distinct values and which each row has."""
    arrays: dict[str, NDArray[Any]] = {}
    told: dict[str, Any] = {
        "problems": [asdict(own) for own in kept.problems],
        "notices": [asdict(own) for own in kept.notices],
        "aside": [asdict(own) for own in kept.aside],
        "sheets": [asdict(own) for own in kept.sheets],
    }
    for name, frame in (("table", kept.table), ("extra", kept.extra)):
        told[name] = {"rows": len(frame), "columns": []}
        for number_, (column, values) in enumerate(frame.items()):
            array = values.to_numpy()
            if array.dtype == object:
                codes, distinct = _distinct(array)
                told[name]["columns"].append([column, distinct])
                arrays[f"{name}{number_}"] = codes
            else:
                told[name]["columns"].append([column, None])
                arrays[f"{name}{number_}"] = array
    arrays["told"] = np.frombuffer(json.dumps(told).encode(), dtype=np.uint8)
    packed = io.BytesIO()
    np.savez(packed, allow_pickle=False, **arrays)
    return packed.getvalue()


def _distinct(array: NDArray[Any]) -> tuple[NDArray[np.int32], list[Any]]:
    """Which of the distinct values each row has, and these; dicts, such as a list's headers, are told apart by row."""
    if len(array) and isinstance(array[0], dict):
        known: dict[int, int] = {}
        codes = np.array([known.setdefault(id(own), len(known)) for own in array], dtype=np.int32)
        firsts = np.unique(codes, return_index=True)[1]
        return codes, [array[at] for at in firsts]
    codes_, values = pd.factorize(array)
    return codes_.astype(np.int32), list(values)


def _unpacked(body: bytes) -> Kept:
    with np.load(io.BytesIO(body), allow_pickle=False) as arrays:
        told = json.loads(bytes(arrays["told"]))
        table, extra = (_frame(arrays, name, told[name]) for name in ("table", "extra"))
    problems, notices = (tuple(map(_problem, told[name])) for name in ("problems", "notices"))
    aside = tuple(SetAside(own["why"], _problem(own["problem"])) for own in told["aside"])
    sheets = tuple(SheetRead(**{name: _as_tuples(own) for name, own in sheet.items()}) for sheet in told["sheets"])
    return Kept(table, extra, problems, notices, aside, sheets)


def _frame(arrays: Any, name: str, told: dict[str, Any]) -> pd.DataFrame:
    columns: dict[str, pd.Series[Any]] = {}
    for number_, (column, distinct) in enumerate(told["columns"]):
        array = arrays[f"{name}{number_}"]
        if distinct is not None:
            values = np.empty(len(distinct), dtype=object)
            values[:] = distinct
            array = values[array]
        columns[column] = pd.Series(array, dtype=array.dtype)
    return pd.DataFrame(columns, index=range(told["rows"]), copy=False)


def _problem(told: dict[str, Any]) -> Problem:
    return Problem(**{**told, "place": Place(**told["place"])})


def _as_tuples(value: Any) -> Any:
    return tuple(map(_as_tuples, value)) if isinstance(value, list) else value
