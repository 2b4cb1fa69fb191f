"""What is worked out once."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Any, TypeVar

T = TypeVar("T")


class Memo:
    """What was made, by key."""

    def __init__(self) -> None:
        self._made: dict[Hashable, Any] = {}

    def of(self, key: Hashable, make: Callable[[], T]) -> T:
        """What `make` gives, made the first time that it is asked for under this key."""
        if key not in self._made:
            self._made[key] = make()
        found: T = self._made[key]
        return found
