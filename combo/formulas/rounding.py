"""Whole numbers out of sizes: the one rule by which grams, micrometers, cents and millimeters are rounded."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray


def half_up(sizes: Any) -> NDArray[np.float64]:
    """Nearest whole number, a half up; NaN stays NaN."""
    whole: NDArray[np.float64] = np.floor(np.asarray(sizes, dtype=float) + 0.5)
    return whole
