"""What is wrong with the input: gathered while reading, told all at once."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass, field, replace

MOST_QUOTED = 80
"""Characters of what was found that a problem quotes."""
_UNSEEN = (
    "\x00-\x08\x0b-\x1f\x7f-\x9f\xad\u061c\u180e\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ud800-\udfff\ufeff\ufff9-\ufffb"
    "\ufffe\uffff\U000e0000-\U000e007f"
)
"""What a terminal obeys, what turns or hides text, and what no file can hold, but for lines and tabs."""
UNSEEN = re.compile(f"[{_UNSEEN}]")
_UNSEEN_IN_LINE = re.compile(f"[\t\n{_UNSEEN}]")
_LONG_WORD = re.compile(rf"(\S{{{MOST_QUOTED}}})\S+")


def visible(text: str) -> str:
    """The text with what would not be seen as an escape, such as \\x1b; its lines and tabs stay."""
    return UNSEEN.sub(_escape, text.replace("\r\n", "\n"))


def in_one_line(text: str) -> str:
    """The text with what would not be seen, lines and tabs too, as an escape: what others wrote begins no new line."""
    return _UNSEEN_IN_LINE.sub(_escape, text)


def _escape(sign: re.Match[str]) -> str:
    return sign[0].encode("unicode_escape").decode("ascii")


@dataclass(frozen=True)
class Place:
    """Where in the input something stands.

    `row` is the row of a list as a spreadsheet numbers it (the header is row 1), or the line of a job file. `column`
    is a list's header or a job file's key; `table` a job file's `[table]` or a workbook's sheet.
    """

    file: str
    row: int | None = None
    column: str | None = None
    table: str | None = None

    def text(self) -> str:
        """Place as printed at the head of a problem."""
        is_job = self.file.endswith(".toml")
        parts = [self.file]
        if self.table and not is_job:
            parts.append(f'sheet "{_cut(self.table)}"')
        if self.row is not None:
            parts.append(f"{'line' if is_job else 'row'} {self.row}")
        if self.table and is_job:
            parts.append(f"[{_cut(self.table)}]")
        if self.column is not None:
            parts.append(f'{"key" if is_job else "column"} "{_cut(self.column)}"')
        return ", ".join(parts)


_NAMING_WORDS = {"unknown-key", "unknown-table"}
"""Words of problems whose `found` names the key itself, so that their place need not."""


@dataclass(frozen=True)
class Problem:
    """One thing wrong with the input. `word` is stable: programs may rely on it."""

    place: Place
    word: str
    found: str
    accepted: str
    hint: str = ""

    def text(self) -> str:
        """The problem in one line, whatever the texts in it hold."""
        place = replace(self.place, column=None) if self.word in _NAMING_WORDS else self.place
        line = f"{place.text()}: {self.found_briefly()}"
        if self.accepted:
            line += f"; {self.accepted}"
        return in_one_line(f"{line}. {self.hint}" if self.hint else line)

    def found_briefly(self) -> str:
        """What was found, with no more than `MOST_QUOTED` characters of what it quotes."""
        for first, last in ('""', "[]", "{}"):
            begin, end = self.found.find(first) + 1, self.found.rfind(last)
            if 0 < begin <= end:  # to the last: a quote may hold quotes
                quote = _cut(self.found[begin:end])
                return f"{_cut_words(self.found[:begin])}{quote}{_cut_words(self.found[end:])}"
        return _cut_words(self.found)


@dataclass
class Report:
    """Problems that stop the work, and notices that do not. Readers add to it; `load` raises the problems together."""

    problems: list[Problem] = field(default_factory=list)
    notices: list[Problem] = field(default_factory=list)

    def add(self, place: Place, word: str, found: str, accepted: str, hint: str = "") -> None:
        """Record a problem: nothing is computed from this input."""
        self.problems.append(Problem(place, word, found, accepted, hint))

    def notice(self, place: Place, word: str, found: str, accepted: str, hint: str = "") -> None:
        """Record something to tell that does not stop the work."""
        self.notices.append(Problem(place, word, found, accepted, hint))

    def raise_if_any(self) -> None:
        """Raise every problem found so far, together."""
        if self.problems:
            raise Problems(self.problems)


class Problems(Exception):  # noqa: N818 - it carries many, and is told to the user under this name
    """All problems of the input, in order of file and row."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = sorted(problems, key=_order)
        super().__init__(self.text())

    def text(self, most: int | None = None) -> str:
        """One line a problem, of more than `most` only so many; the count of all last, next to the prompt."""
        lines = [problem.text() for problem in self.problems[:most]]
        if len(lines) < len(self.problems):
            left = len(self.problems) - len(lines)
            lines.append(f"... and {left} more: combo check JOB --problems FILE.txt writes them all to a file.")
        files = len({problem.place.file for problem in self.problems})
        lines.append(f"{_counted(len(self.problems), 'problem')} in {_counted(files, 'file')}; nothing was written.")
        return "\n".join(lines)


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word closest to `word`, or None where none is near."""
    by_fold = {name.casefold(): name for name in sorted(known)}
    matches = difflib.get_close_matches(word.casefold(), list(by_fold), n=1, cutoff=0.6)
    return by_fold[matches[0]] if matches else None


def _cut(text: str) -> str:
    return text if len(text) <= MOST_QUOTED else f"{text[:MOST_QUOTED]}..."


def _cut_words(text: str) -> str:
    """The text with each word cut: what is quoted without quotes, such as a number, is one."""
    return _LONG_WORD.sub(r"\1...", text)


def _counted(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _order(problem: Problem) -> tuple[str, str, int, str, str]:
    place = problem.place
    table = "" if place.file.endswith(".toml") else place.table or ""
    return (place.file, table, place.row or 0, place.column or "", problem.found)
