"""Minimal hitting sets: the smallest sets that hold a member of each of some sets.

The sets that hit all families so far are extended by each next family in turn (Berge's algorithm: C. Berge,
Hypergraphs, North-Holland 1989, chapter 2; from memory).
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from typing import TypeVar

T = TypeVar("T", bound=Hashable)


def minimal_hitting_sets(families: Iterable[frozenset[T]], order: Sequence[T]) -> list[frozenset[T]]:
    """Every minimal set with a member of each family, the ones with the fewest members first, then by `order`.

    Examples
    --------
    >>> [sorted(hit) for hit in minimal_hitting_sets([frozenset("ab"), frozenset("bc")], "abc")]
    [['b'], ['a', 'c']]
    >>> minimal_hitting_sets([frozenset()], "abc")
    []
    """
    hitting: list[frozenset[T]] = [frozenset()]
    for family in families:
        hit = [candidate for candidate in hitting if candidate & family]
        grown = {candidate | {member} for candidate in hitting if not candidate & family for member in family}
        hitting = hit + [candidate for candidate in grown if not any(smaller <= candidate for smaller in hit)]
        hitting = [candidate for candidate in hitting if not any(smaller < candidate for smaller in hitting)]
    place = {member: at for at, member in enumerate(order)}
    return sorted(hitting, key=lambda candidate: (len(candidate), sorted(place[member] for member in candidate)))
