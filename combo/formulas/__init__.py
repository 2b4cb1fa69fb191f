"""The physics: numbers in, numbers out, over floats or whole columns. Knows no list, no job and no check."""

import numpy as np
from numpy.typing import NDArray

Column = float | NDArray[np.float64]
"""One number, or one number a row. A NaN stands for "not known" and makes every result that needs it NaN."""
