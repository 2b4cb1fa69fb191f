"""Lists that have been read before: kept in memory, and in the user's cache folder for the next time.

What is kept is named by a digest of all that reading looks at (the files byte for byte, how they are named and mapped,
and the code that reads), so it is never older than what it stands for. The folder may be deleted at any time; the
environment variable COMBO_NO_CACHE, which `combo --no-cache` sets, leaves it alone.
"""

from __future__ import annotations

import functools
import hashlib
import json
import os
import pickle
import sys
import tempfile
from collections import OrderedDict
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

import combo
from combo.job import ListFile
from combo.parts import Kind
from combo.problems import Problem
from combo.units import DOLLAR, Currency

OFF_VARIABLE = "COMBO_NO_CACHE"
_IN_MEMORY, _ON_DISK = 24, 256
"""How many lists of a kind are kept, those used last."""


@dataclass(frozen=True)
class Kept:
    """Lists of a kind as they were read: the part table, the unclaimed columns, and what there was to tell."""

    table: pd.DataFrame
    extra: pd.DataFrame
    problems: tuple[Problem, ...]
    notices: tuple[Problem, ...]


_memory: OrderedDict[str, Kept] = OrderedDict()


@dataclass(frozen=True)
class Wanted:
    """Lists of a kind, how their headers are mapped, and the job's currency: all that reading looks at."""

    kind: Kind
    files: tuple[ListFile, ...]
    mapped: dict[str, str]
    currency: Currency = DOLLAR

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
        files = [[file.path, file.shown, file.sheet, file.supplier] for file in self.files]
        rates = [[code, str(rate)] for code, rate in self.currency.rates]
        named = [self.kind.name, files, sorted(self.mapped.items()), self.currency.code, rates, pd.__version__]
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
    """The user's cache folder."""
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
    sources = [*sorted((root / "read").glob("*.py")), *sorted((root / "formulas").glob("*.py")),
               root / "units.py", root / "parts.py", root / "problems.py"]  # fmt: skip
    return hashlib.sha256(b"".join(path.read_bytes() for path in sources)).digest()


def _from_disk(key: str) -> Kept | None:
    path = folder() / f"{key}.list"
    if os.environ.get(OFF_VARIABLE):
        return None
    try:
        content = path.read_bytes()
        digest, body = content[:32], content[32:]
        if hashlib.sha256(body).digest() != digest:
            return None
        os.utime(path)
        kept = pickle.loads(body)
    except (OSError, pickle.UnpicklingError, AttributeError, ImportError, EOFError):
        return None
    return kept if isinstance(kept, Kept) else None


def _to_disk(key: str, kept: Kept) -> None:
    """Keep it, whole or not at all; where that cannot be, it is read again the next time."""
    if os.environ.get(OFF_VARIABLE):
        return
    body = pickle.dumps(kept, protocol=pickle.HIGHEST_PROTOCOL)
    temporary = ""
    try:
        folder().mkdir(parents=True, exist_ok=True, mode=0o700)
        handle, temporary = tempfile.mkstemp(dir=folder(), prefix=".new")
        with os.fdopen(handle, "wb") as file:
            file.write(hashlib.sha256(body).digest() + body)
        os.replace(temporary, folder() / f"{key}.list")
        lists = sorted(folder().glob("*.list"), key=lambda path: path.stat().st_mtime)
        for old in lists[:-_ON_DISK]:
            old.unlink(missing_ok=True)
    except OSError:
        if temporary:
            Path(temporary).unlink(missing_ok=True)
