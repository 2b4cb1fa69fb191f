"""How sure a margin is: the worst case, and the chance that it clears."""

from __future__ import annotations

import math
from collections.abc import Sequence
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


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


def chance_of_clearing(margin: float, spread_: float) -> float:
    """Chance that a margin with a standard uncertainty is zero or more, its distribution taken as normal.

    Examples
    --------
    >>> round(chance_of_clearing(2.0, 1.0), 4), chance_of_clearing(0.0, 0.0), chance_of_clearing(-1.0, 0.0)
    (0.9772, 1.0, 0.0)
    """
    if math.isnan(margin) or math.isnan(spread_):
        return math.nan
    if spread_ == 0.0:
        return 1.0 if margin >= 0.0 else 0.0
    return NormalDist().cdf(margin / spread_)


def spreads_for(chance: float) -> float:
    """How many standard uncertainties a margin must have to clear with a chance: 2.326 for 0.99.

    Examples
    --------
    >>> round(spreads_for(0.99), 3)
    2.326
    """
    return NormalDist().inv_cdf(chance)
