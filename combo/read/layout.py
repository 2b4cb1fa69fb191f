"""Where in a sheet the list is: its header row, the rows that hold parts, and what stands around them.

Letterheads, date lines, blank rows, sections, notes and repeated headers hold no parts. A header may be two lines, and
a sheet may hold several tables, each under a header of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from combo.parts import KINDS, Kind
from combo.read.dates import first_date
from combo.read.grid import CellGrid, Index
from combo.read.headers import Dictionary, fields_of, names_unit

_LOOKED_AT = 80  # filled rows among which a header is sought: letterheads are shorter
_LEAST_FIELDS = 2  # that a row must name to be taken for a header before the first filled one
_SURE_FIELDS, _SURE_SHARE = 3, 0.6
_MOST_NUMBERS = 0.2  # of the cells of a header's line: more of them are a part's
_SAME_SHARE = 0.6  # of a header's cells, in a row that repeats it
_NOTES_KEPT = 40
_MOST_UNIT = 12  # characters of a unit under a header


class Score(NamedTuple):
    """How much a row says as a header: fields that it names, and columns whose unit it states."""

    fields: int
    units: int


@dataclass(frozen=True)
class Block:
    """A table of a sheet: texts of its header by column, the numbers of the header's lines, and the rows of parts.

    `notes` are rows that hold no part, by number with their text.
    """

    header: list[str]
    header_rows: tuple[int, ...]
    rows: Index
    notes: tuple[tuple[int, str], ...] = field(default=(), repr=False)


@dataclass(frozen=True)
class _Head:
    """A candidate for the header: its texts, the rows of the grid that it takes, and what it says."""

    texts: list[str]
    at: tuple[int, ...]
    score: Score


def blocks(grid: CellGrid, words: Dictionary, header_row: int = 0, skip_rows: tuple[int, ...] = ()) -> list[Block]:
    """The tables of a sheet; [] where no row is filled, or the `header_row` that is asked for is not."""
    filled = np.flatnonzero((grid.counts() > 0) & ~np.isin(grid.numbers, skip_rows))
    head = _stated_head(grid, words, filled, header_row) if header_row else _best_head(grid, words, filled)
    if head is None:
        return []
    return list(_tables(grid, words, filled, head))


def letterhead_date(grid: CellGrid, block: Block) -> str:
    """The date that stands over a list, ISO; "" where none does."""
    above = np.flatnonzero(grid.numbers < block.header_rows[0])[:_LOOKED_AT]
    return first_date(text for at in above for text in grid.row(int(at)) if text)


def score(texts: list[str], words: Dictionary) -> Score:
    """How much a row says as a header of a kind."""
    known = [found for text in texts if text and (found := words.meaning(text)) is not None]
    return Score(len({found.name for found in known}), sum(found.unit is not None for found in known))


Reads = Callable[[Kind, str, list[str]], bool]
"""Whether some texts under a header of a meaning read as a kind's."""
_SAMPLE = 40  # rows of which the texts are looked at


def kind_of(grid: CellGrid, words_of: dict[str, Dictionary], reads: Reads) -> Kind | None:
    """The kind of part that a sheet's header fits best: of which it has most of the needed fields, with texts that read
    as such; None where no kind's header is there.
    """
    counts = grid.counts()
    filled, several = np.flatnonzero(counts > 0), np.flatnonzero(counts > 1)
    best: tuple[tuple[float, int, int], Kind] | None = None
    for plural, kind in KINDS.items():
        words = words_of[plural]
        head = _best_head(grid, words, filled)
        if head is None or head.score.fields < _LEAST_FIELDS:
            continue
        below = several[several > head.at[-1]][:_SAMPLE]
        known = []
        for at, text in enumerate(head.texts):
            found = words.meaning(text)
            sample = [own for row in below if (own := grid.columns[at].text(int(row)))]
            if found is not None and (not sample or reads(kind, found.name, sample)):
                known.append(found.name)
        named = {name for one in known for name in fields_of(one)}
        needed = [own.name for own in kind.fields if own.must]
        rank = (sum(name in named for name in needed) / len(needed), len(known), head.score.units)
        if best is None or rank > best[0]:
            best = (rank, kind)
    return None if best is None else best[1]


def _best_head(grid: CellGrid, words: Dictionary, filled: Index) -> _Head | None:
    """The row, or the two, that name most fields; where hardly any does, the first row as wide as the list."""
    if not len(filled):
        return None
    first = _single(grid, words, int(filled[0]))
    cells = sum(map(bool, first.texts))
    if first.score.fields >= max(_SURE_FIELDS, _SURE_SHARE * cells) and not _may_go_on(grid, filled, 0):
        return first
    heads = (
        head
        for number, at in enumerate(filled[:_LOOKED_AT].tolist())
        for head in _heads_at(grid, words, filled, number, at)
    )
    best = max(heads, key=_by_score)
    return best if best.score.fields >= _LEAST_FIELDS else _first_wide(grid, words, filled)


def _stated_head(grid: CellGrid, words: Dictionary, filled: Index, header_row: int) -> _Head | None:
    """The header that begins in a row, in one line or two."""
    begins = np.flatnonzero(grid.numbers[filled] == header_row).tolist()
    heads = (head for number in begins[:1] for head in _heads_at(grid, words, filled, number, int(filled[number])))
    return max(heads, key=_by_score, default=None)


def _by_score(head: _Head) -> Score:
    return head.score


def _heads_at(grid: CellGrid, words: Dictionary, filled: Index, number: int, at: int) -> Iterator[_Head]:
    """Headers that may begin in a row: itself, and itself with the lines under it."""
    own = _single(grid, words, at)
    yield own
    lines, rows = [own.texts, _filled_right(own.texts, grid, at)], [at]
    while _may_go_on(grid, filled, number) and len(rows) < 3:
        number += 1
        rows.append(int(filled[number]))
        below = grid.row(rows[-1])
        lines = [_joined(line, below) for line in lines]
        yield from (_Head(line, tuple(rows), score(line, words)) for line in lines)


def _single(grid: CellGrid, words: Dictionary, at: int) -> _Head:
    texts = grid.row(at)
    return _Head(texts, (at,), score(texts, words))


def _may_go_on(grid: CellGrid, filled: Index, number: int) -> bool:
    """Whether the next row may be another line of a header that ends here: it follows at once, and holds words."""
    if number + 1 >= len(filled):
        return False
    at, below = int(filled[number]), int(filled[number + 1])
    return int(grid.numbers[below] - grid.numbers[at]) == 1 and _is_wordy(grid.row(below))


def _is_wordy(texts: list[str]) -> bool:
    cells = [text for text in texts if text]
    return len(cells) > 1 and sum(any(map(str.isdigit, text)) for text in cells) <= _MOST_NUMBERS * len(cells)


def _joined(top: list[str], bottom: list[str]) -> list[str]:
    """Two lines of a header as one; a unit alone goes into brackets, as headers have it."""
    joined = []
    for over, under in zip(top, bottom, strict=True):
        if not under or over == under:
            joined.append(over)
        elif over and len(under) <= _MOST_UNIT and names_unit(under):
            joined.append(f"{over} ({under.strip('()[] ')})")
        else:
            joined.append(f"{over} {under}".strip())
    return joined


def _filled_right(texts: list[str], grid: CellGrid, at: int) -> list[str]:
    """A header's line whose text reaches over the blank cells behind it, as merged cells do; in a sheet over those
    that are merged, in a file, which keeps no merging, over all.
    """
    right = list(texts)
    for row, first, last in grid.merged:
        if row == at:
            right[first : last + 1] = [texts[first]] * (min(last, len(texts) - 1) - first + 1)
    if grid.ragged:
        for column in range(1, len(right)):
            right[column] = right[column] or right[column - 1]
    return right


def _first_wide(grid: CellGrid, words: Dictionary, filled: Index) -> _Head:
    """The first row about as wide as the widest."""
    counts = grid.counts()[filled[:_LOOKED_AT]]
    wide = np.flatnonzero(counts >= _SURE_SHARE * counts.max())
    return _single(grid, words, int(filled[wide[0]]))


def _tables(grid: CellGrid, words: Dictionary, filled: Index, head: _Head) -> Iterator[Block]:
    """The table under a header, and those under other headers further down."""
    below = filled[filled > head.at[-1]]
    are_parts = _are_parts(grid, words, head, below) & ~_repeat(grid, head, below)
    following = _next_head(grid, words, below, are_parts, head)
    if following is not None:
        are_mine = below < following.at[0]
        below, are_parts = below[are_mine], are_parts[are_mine]
    notes = tuple(
        (int(grid.numbers[at]), " ".join(text for text in grid.row(int(at)) if text)[:200])
        for at in below[~are_parts][:_NOTES_KEPT]
    )
    yield Block(head.texts, tuple(int(grid.numbers[at]) for at in head.at), below[are_parts], notes)
    if following is not None:
        yield from _tables(grid, words, filled, following)


def _are_parts(grid: CellGrid, words: Dictionary, head: _Head, rows: Index) -> NDArray[np.bool_]:
    """Which rows fill more than one of the columns that the list's kind knows."""
    known = [at for at, text in enumerate(head.texts) if text and words.meaning(text) is not None]
    counts = np.zeros(len(rows), dtype=np.int64)
    for at in known:
        counts += grid.columns[at].of_rows(rows).are_filled()
    return counts >= (2 if len(known) > _LEAST_FIELDS else 1) if known else np.ones(len(rows), dtype=np.bool_)


def _repeat(grid: CellGrid, head: _Head, rows: Index) -> NDArray[np.bool_]:
    """Which rows repeat a line of the header."""
    repeats = np.zeros(len(rows), dtype=np.bool_)
    for line in head.at:
        same, cells = np.zeros(len(rows), dtype=np.int64), 0
        for own in grid.columns:
            code = own.of[line]
            if own.distinct[code]:
                cells += 1
                same += own.of[rows] == code
        repeats |= same >= max(2, _SAME_SHARE * cells)
    return repeats


def _next_head(
    grid: CellGrid, words: Dictionary, rows: Index, are_parts: NDArray[np.bool_], head: _Head
) -> _Head | None:
    """The first header of another table: behind a row that holds no part or a blank one, it names as many fields."""
    least = max(_SURE_FIELDS, _SURE_SHARE * head.score.fields)
    begins = np.ones(len(rows), dtype=np.bool_)
    begins[1:] = ~are_parts[:-1] | (np.diff(grid.numbers[rows]) > 1)
    begins[:1] = False
    for number in np.flatnonzero(begins):
        at = int(rows[number])
        if not _is_wordy(grid.row(at)):
            continue
        best = max(_heads_at(grid, words, rows, int(number), at), key=_by_score)
        if best.score.fields >= least and best.texts != head.texts:
            return best
    return None
