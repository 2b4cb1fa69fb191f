"""Whole numbers out of sizes: the one rule by which grams, micrometers, cents and millimeters are rounded."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

NOISE_DECIMALS = 6  # far below what any list states, far above what binary fractions leave over


def half_up(sizes: Any) -> NDArray[np.float64]:
    """Nearest whole number, a half up; NaN stays NaN.

    A half that binary fractions have lost counts as the half that it is: 0.01 x 205 x 50 is 102.5, though floats make
    102.49999999999999 of it.

    Examples
    --------
    >>> float(half_up(0.01 * 205.0 * 50.0)), float(half_up(102.4999)), float(half_up(-0.5))
    (103.0, 102.0, 0.0)
    """
    whole: NDArray[np.float64] = np.floor(np.round(np.asarray(sizes, dtype=float), NOISE_DECIMALS) + 0.5)
    return whole
