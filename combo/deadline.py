"""When to stop: a time limit, or the word of whoever waits."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any


class CutShortError(Exception):
    """A search came to no answer, for its clock was over; `found` is the best that it had found until then."""

    def __init__(self, found: Sequence[Any] = ()) -> None:
        super().__init__("the search was cut short")
        self.found = tuple(found)


@dataclass
class Clock:
    """Counts down a time limit; without one there is no end. `cut_short` remembers that it ran out during the work, or
    that it was stopped, `by_hand` that it was the latter.
    """

    limit_s: float | None = None
    started: float = field(default_factory=time.monotonic)
    cut_short: bool = False
    by_hand: bool = False

    def left_s(self) -> float | None:
        """Seconds left, never negative; None without a limit."""
        if self.limit_s is None:
            return None
        return max(0.0, self.limit_s - (time.monotonic() - self.started))

    def is_over(self) -> bool:
        """Whether the time is up; remembers it."""
        if self.left_s() == 0.0:
            self.cut_short = True
        return self.cut_short

    def heed(self, found: Sequence[Any] = ()) -> None:
        """Raise CutShortError, with what was found, where the time is up."""
        if self.is_over():
            raise CutShortError(found)

    def stop(self) -> None:
        """Let the work end with what it has found."""
        self.cut_short = self.by_hand = True
