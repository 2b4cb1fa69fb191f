"""How sure a margin is: its spread, the chance that it clears, and how large it must be to clear with a chance.

A plus-or-minus is taken as uniform between its ends, inputs as independent, their effect as linear. The margin is then
off by a sum of uniforms on +-a_i, whose distribution is known in closed form (Feller, An Introduction to Probability
Theory and Its Applications, vol. 2, I.9, where the widths are equal; from memory; unequal ones follow alike):

    F(x) = sum over all signs s of s_1 ... s_n (x + s_1 a_1 + ... + s_n a_n)_+^n / (n! 2^n a_1 ... a_n)

Its terms cancel: a few widths of a hundredth of the largest cost a dozen digits. So it is not summed up here. Counted
from the lower end of the sum, with full widths w_i = 2 a_i, the same F follows from sums of one term less:

    n F(x) = x f(x) + sum over i of F_without_i(x - w_i)
    f(x) = (F_without_1(x) - F_without_1(x - w_1)) / w_1

F is the mean of F_without_i between x - w_i and x. The second line is the derivative of that mean by x. By w_i it is
(F_without_i(x - w_i) - F) / w_i, which Euler's theorem turns into the first line, as F stays the same when x and all
widths grow alike. With the largest width as w_1, x / w_1 is n at most where F is not yet 1: a step makes errors three
times as large at most, however unequal the widths.
"""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Places = NDArray[np.intp]

EXACT_TERMS = 8  # the work more than doubles with every term
_NEGLIGIBLE = 1e-10  # of the largest loss: a term left out changes a chance by no more than a quarter of this
_KEPT_BITS = 40  # of the largest loss; finer digits come from the subtraction that told the loss
_CLOSE = 1e-13  # of the sum of the losses
_MOST_STEPS = 60  # each halves the bracket at least
_AT_ONCE = 1 << 18  # numbers that stay in a processor's cache
_LEAST = 2.0**-900  # no loss, and no chance that is not zero, is as small
_BELOW_ONE = 1.0 - 2.0**-53


def spread(losses: Sequence[Floats]) -> Floats:
    """Standard uncertainty of a margin from what each plus-or-minus can take from it.

    Parameters
    ----------
    losses : sequence of ndarray, shape (n,)
        What the margin loses when one input goes to the bad end of its plus-or-minus, in the margin's unit.

    Returns
    -------
    ndarray, shape (n,)
        Root of the sum of squares of loss / sqrt(3).

    Notes
    -----
    A plus-or-minus is taken as a rectangular distribution, whose standard deviation is its half width over sqrt(3)
    (JCGM 100:2008, 4.3.7, from memory), inputs as independent, their effect as linear (5.1.2).

    Examples
    --------
    >>> [round(float(size), 3) for size in spread([np.array([3.0]), np.array([4.0])])]
    [2.887]
    """
    return np.asarray(np.sqrt(sum(np.square(loss) / 3.0 for loss in losses)), dtype=float)


def chance_of_clearing(margin: Floats, losses: Sequence[Floats]) -> Floats:
    """Chance that a margin is zero or more when every loss is a plus-or-minus of its own.

    Parameters
    ----------
    margin : ndarray
        Nominal margins.
    losses : sequence of ndarray
        As for `spread`, zero or more; they broadcast with the margins.

    Returns
    -------
    ndarray
        1.0 where and only where the margin clears with every loss at once, 0.0 where it cannot; NaN where not known.

    Examples
    --------
    >>> off = [np.array([1.0]), np.array([1.0])]
    >>> [float(chance_of_clearing(np.array([margin]), off)[0]) for margin in (-2.0, -1.0, 0.0, 1.0, 2.0)]
    [0.0, 0.125, 0.5, 0.875, 1.0]
    """
    margin, terms, shape = _flat(margin, losses)
    most = _summed(terms)
    found = np.where(margin >= most, 1.0, np.where(margin <= -most, 0.0, np.nan))
    open_ = np.flatnonzero(np.isfinite(margin) & np.isfinite(most) & (np.abs(margin) < most))
    margin, terms = margin[open_], _largest_first(terms[:, open_])
    below = np.zeros(len(open_))  # chance of what lies farther out on the margin's own side
    normal = _is_normal(terms)
    below[normal] = _normal_below(-np.abs(margin[normal]) / spread(list(terms[:, normal])))
    for rows, widths in _by_count(terms, ~normal):
        below[rows] = _below(np.maximum(_summed(widths) / 2.0 - np.abs(margin[rows]), 0.0), widths)[0]
    # Certain is only what the worst or the best case tells.
    found[open_] = np.clip(np.where(margin < 0.0, below, 1.0 - below), _LEAST, _BELOW_ONE)
    return found.reshape(shape)


def allowance(losses: Sequence[Floats], chance: float) -> Floats:
    """Margin that clears with a chance above a half and below one, every loss a plus-or-minus of its own.

    Parameters
    ----------
    losses : sequence of ndarray
        As for `spread`; they broadcast.
    chance : float
        The wanted chance.

    Returns
    -------
    ndarray
        The quantile of the sum of the plus-or-minus, never more than the sum of the losses.

    Examples
    --------
    >>> [round(float(allowance([np.array([1.0])] * count, 0.875)[0]), 9) for count in (1, 2)]
    [0.75, 1.0]
    """
    if not 0.5 < chance < 1.0:
        raise ValueError(f"chance has to be above 0.5 and below 1: {chance}")
    _, terms, shape = _flat(np.zeros(()), losses)
    most = _summed(terms)
    found = most.copy()
    known = np.flatnonzero(np.isfinite(most))
    terms = _rounded(_largest_first(terms[:, known]))
    first, number = _alike(terms)
    terms = terms[:, first]
    needed = np.zeros(len(first))
    normal = _is_normal(terms)
    needed[normal] = spreads_for(chance) * spread(list(terms[:, normal]))
    for rows, widths in _by_count(terms, ~normal):
        needed[rows] = _summed(widths) / 2.0 - _quantile(widths, 1.0 - chance)
    found[known] = np.minimum(found[known], needed[number])
    return found.reshape(shape)


def is_exact(losses: Sequence[Floats]) -> Bools:
    """Whether chance and allowance of these losses are exact: no more than eight of them matter.

    Notes
    -----
    Of more than eight, either the smallest are joined into one of the same variance, or all are taken as normal,
    whichever misses the fourth cumulant by less (second and third hold in both).

    Examples
    --------
    >>> [bool(is_exact([np.array([1.0])] * count)[0]) for count in (8, 9)]
    [True, False]
    """
    _, terms, shape = _flat(np.zeros(()), losses)
    return np.asarray(_count(_largest_first(terms)) <= EXACT_TERMS).reshape(shape)


def spreads_for(chance: float) -> float:
    """How many standard uncertainties a normal margin must have to clear with a chance: 2.326 for 0.99.

    Examples
    --------
    >>> round(spreads_for(0.99), 3)
    2.326
    """
    return NormalDist().inv_cdf(chance)


# Losses as rows of terms


def _flat(margin: Floats, losses: Sequence[Floats]) -> tuple[Floats, Floats, tuple[int, ...]]:
    """Margins of shape (n,), losses of shape (terms, n), and the shape that they broadcast to."""
    every = np.broadcast_arrays(np.asarray(margin, dtype=float), *(np.asarray(own, dtype=float) for own in losses))
    flat = np.array([own.ravel() for own in every])
    return flat[0], flat[1:], every[0].shape


def _summed(terms: Floats) -> Floats:
    """The sum of each row's terms one after another, as `sum` adds them, so that it does not depend on other rows."""
    return functools.reduce(np.add, terms, np.zeros(terms.shape[1]))


def _largest_first(terms: Floats) -> Floats:
    return -np.sort(-terms, axis=0)


def _rounded(terms: Floats) -> Floats:
    """Terms, largest first, without the digits in which rows that should be alike differ."""
    exponent = np.frexp(terms[:1])[1]
    finest = np.ldexp(1.0, np.maximum(exponent, -900) - _KEPT_BITS)
    return np.asarray(np.rint(terms / finest) * finest)


def _alike(terms: Floats) -> tuple[Places, Places]:
    """Places of the first of alike rows, and for every row which of them is its own."""
    count = terms.shape[1]
    order = np.lexsort(terms) if len(terms) else np.arange(count)
    sorted_ = terms[:, order]
    new = np.ones(count, dtype=bool)
    new[1:] = np.any(sorted_[:, 1:] != sorted_[:, :-1], axis=0)
    number = np.empty(count, dtype=np.intp)
    number[order] = np.cumsum(new) - 1
    return order[new], number


def _count(terms: Floats) -> Places:
    """How many of a row's terms, largest first, matter."""
    return np.asarray(np.sum(terms > _NEGLIGIBLE * terms[:1] + _LEAST, axis=0), dtype=np.intp)


def _is_normal(terms: Floats) -> Bools:
    """Whether a row's terms, largest first, are taken as normal: so many are alike that joining some is worse."""
    rest = terms[EXACT_TERMS - 1 :]
    joining_misses, normal_misses = _summed(rest**2) ** 2 - _summed(rest**4), _summed(terms**4)
    return np.asarray((_count(terms) > EXACT_TERMS) & (joining_misses > normal_misses))


def _by_count(terms: Floats, which: Bools) -> Iterator[tuple[Places, Floats]]:
    """Rows with equally many terms that matter, and the full widths of these, largest first."""
    counts = _count(terms)
    for count in np.unique(counts[which & (counts > 0)]).tolist():
        rows = np.flatnonzero(which & (counts == count))
        own = terms[:count, rows]
        if count > EXACT_TERMS:
            rest = np.sqrt(_summed(own[EXACT_TERMS - 1 :] ** 2))
            own = _largest_first(np.concatenate([own[: EXACT_TERMS - 1], rest[np.newaxis]]))
        yield rows, 2.0 * own


def _normal_below(sigmas: Floats) -> Floats:
    return np.asarray(np.frompyfunc(NormalDist().cdf, 1, 1)(sigmas), dtype=float)


# Sum of uniforms


_Sum = tuple[tuple[int, ...], tuple[int, ...]]  # its terms, and those by whose widths its x is less than the first x


@dataclass(frozen=True)
class _Layer:
    """Sums of equally many terms, each at its own x, and the sums of one term less that they follow from.

    `largest` is a sum's largest term, `kept` the place of the sum without it at the same x, `moved` the places of those
    without one of its terms each, largest first, at x less its width. `parent` and `less` tell the x of each sum of one
    term less: that of a sum here, less the width of a term (of one after the last: of none).
    """

    largest: Places
    kept: Places
    moved: Places
    parent: Places
    less: Places


@functools.cache
def _layers(count: int) -> tuple[_Layer, ...]:
    """Layers from the sum of so many terms down to single terms: n 2^(n-1) sums and 2^n empty ones."""
    sums: list[_Sum] = [(tuple(range(count)), ())]
    found = []
    for _ in range(count):
        came: dict[_Sum, tuple[int, int]] = {}
        followed = [_one_term_less(own, count) for own in sums]
        for at, children in enumerate(followed):
            for child, less in children:
                came.setdefault(child, (at, less))
        place = {child: at for at, child in enumerate(came)}
        largest = [terms[0] for terms, _ in sums]
        kept, *moved = np.array([[place[child] for child, _ in children] for children in followed], dtype=np.intp).T
        parent, less_ = np.array(list(came.values()), dtype=np.intp).T
        found.append(_Layer(np.array(largest, dtype=np.intp), kept, np.array(moved), parent, less_))
        sums = list(came)
    return tuple(found)


def _one_term_less(own: _Sum, count: int) -> list[tuple[_Sum, int]]:
    """The sum without its largest term at the same x, then without each at x less its width; and which width."""
    terms, gone = own
    moved = [((tuple(other for other in terms if other != term), tuple(sorted((*gone, term)))), term) for term in terms]
    return [((terms[1:], gone), count), *moved]


def _below(x: Floats, widths: Floats) -> tuple[Floats, Floats]:
    """F(x) and f(x) of the sum of uniforms on 0 to each width, largest first, all above zero."""
    size = max(1, _AT_ONCE // (len(widths) << (len(widths) - 1)))
    parts = [_below_at_once(x[at : at + size], widths[:, at : at + size]) for at in range(0, len(x), size)]
    return np.concatenate([chance for chance, _ in parts]), np.concatenate([density for _, density in parts])


def _below_at_once(x: Floats, widths: Floats) -> tuple[Floats, Floats]:
    layers = _layers(len(widths))
    less = np.concatenate([widths, np.zeros((1, len(x)))])
    places = [x[np.newaxis]]
    for layer in layers:
        places.append(places[-1][layer.parent] - less[layer.less])
    below = density = (places.pop() >= 0.0).astype(float)  # the sum of no terms is zero
    for layer, at in zip(reversed(layers), reversed(places), strict=True):
        density = (below[layer.kept] - below[layer.moved[0]]) / widths[layer.largest]
        below = functools.reduce(np.add, (below[own] for own in layer.moved), at * density) / len(layer.moved)
    return below[0], density[0]


def _quantile(widths: Floats, below: float) -> Floats:
    """The x, at the median or less, below which the sum of uniforms on 0 to each width lies with a chance.

    Up to the median F is convex, and 1 / F is convex everywhere (F is log-concave, as uniforms are): Newton's step on
    F never ends below the root, that on 1 / F never above it. So each step brackets it anew.
    """
    full = _summed(widths)
    low, high = np.zeros(len(full)), full / 2.0
    at, rows = full / 2.0, np.arange(len(full))
    for _ in range(_MOST_STEPS):
        # Rows that are done rest, so that no row's last digit depends on the others.
        chance, density = _below(at[rows], widths[:, rows])
        step = (chance - below) / density
        high[rows] = np.minimum(high[rows], at[rows] - step)
        low[rows] = np.maximum(low[rows], at[rows] - step * (chance / below))
        rows = rows[high[rows] - low[rows] > _CLOSE * full[rows]]
        at = (low + high) / 2.0
        if not len(rows):
            break
    return low
