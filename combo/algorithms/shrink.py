"""Shrink an unsatisfiable core to a minimal one (MUS) by deletion, in portions that grow while that goes well.

Deletion in growing portions is that of quick explanations (U. Junker, AAAI 2004; from memory): what can be left out is
left out many at once, what cannot is found one by one.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from typing import TypeVar

T = TypeVar("T", bound=Hashable)


def shrink_to_mus(
    core: frozenset[T], core_of: Callable[[frozenset[T]], frozenset[T] | None], order: Sequence[T]
) -> frozenset[T]:
    """A minimal part of a core that is still one.

    Parameters
    ----------
    core : frozenset
        Members that cannot be kept together.
    core_of : callable
        Of some members: a core among them, or None where they can be kept together (or where that is not known: then
        the members left out stay).
    order : sequence
        All members, in the order in which they are left out first.

    Returns
    -------
    frozenset
        Without any one of it `core_of` gives None.

    Examples
    --------
    >>> def core_of(kept):
    ...     return frozenset("bd") if frozenset("bd") <= kept else None
    >>> sorted(shrink_to_mus(frozenset("abcde"), core_of, "abcde"))
    ['b', 'd']
    """
    needed: set[T] = set()
    portion = len(core)
    while untried := [member for member in order if member in core and member not in needed]:
        portion = max(1, min(portion, (len(untried) + 1) // 2))
        left_out = untried[:portion]
        smaller = core_of(core - frozenset(left_out))
        if smaller is not None:
            core, portion = smaller, portion * 2
        elif portion == 1:
            needed.update(left_out)
        else:
            portion //= 2
    return core
