"""What the marks on a sidewall stand for: load index to mass, speed symbol to speed."""

from __future__ import annotations

import numpy as np

from combo.formulas import Column

# Load indices 0 to 200 [kg], twenty or ten a line: French Arrete du 24 octobre 1994 (NOR EQUS9401799A), annexe II.
# The decree prints 240 for index 59, a slip: every other index is a tenth of the one 80 above it, and 139 is 2430 kg.
_LOAD_KG = np.array([
    45, 46.2, 47.5, 48.7, 50, 51.5, 53, 54.5, 56, 58, 60, 61.5, 63, 65, 67, 69, 71, 73, 75, 77.5,
    80, 82.5, 85, 87.5, 90, 92.5, 95, 97.5, 100, 103, 106, 109, 112, 115, 118, 121, 125, 128, 132, 136,
    140, 145, 150, 155, 160, 165, 170, 175, 180, 185, 190, 195, 200, 206, 212, 218, 224, 230, 236, 243,
    250, 257, 265, 272, 280, 290, 300, 307, 315, 325, 335, 345, 355, 365, 375, 387, 400, 412, 425, 437,
    450, 462, 475, 487, 500, 515, 530, 545, 560, 580, 600, 615, 630, 650, 670, 690, 710, 730, 750, 775,
    800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030, 1060, 1090, 1120, 1150, 1180, 1215, 1250, 1285, 1320, 1360,
    1400, 1450, 1500, 1550, 1600, 1650, 1700, 1750, 1800, 1850,
    1900, 1950, 2000, 2060, 2120, 2180, 2240, 2300, 2360, 2430,
    2500, 2575, 2650, 2725, 2800, 2900, 3000, 3075, 3150, 3250,
    3350, 3450, 3550, 3650, 3750, 3875, 4000, 4125, 4250, 4375,
    4500, 4625, 4750, 4875, 5000, 5150, 5300, 5450, 5600, 5800,
    6000, 6150, 6300, 6500, 6700, 6900, 7100, 7300, 7500, 7750,
    8000, 8250, 8500, 8750, 9000, 9250, 9500, 9750, 10000, 10300,
    10600, 10900, 11200, 11500, 11800, 12150, 12500, 12850, 13200, 13600,
    14000,
])  # fmt: skip

SPEED_KM_H = {
    "F": 80.0, "G": 90.0, "J": 100.0, "K": 110.0, "L": 120.0, "M": 130.0, "N": 140.0, "P": 150.0, "Q": 160.0,
    "R": 170.0, "S": 180.0, "T": 190.0, "U": 200.0, "H": 210.0, "V": 240.0, "W": 270.0, "Y": 300.0,
}  # fmt: skip
"""Speed symbol to speed [km/h]: the same decree, annexe I; W and Y are from memory of UN Regulation No. 30."""


def load_of_index_kg(load_index: Column) -> Column:
    """Mass that one tire of a load index carries [kg]; NaN for an index outside 0 to 200 or not whole.

    Examples
    --------
    >>> float(load_of_index_kg(123.0))
    1550.0
    """
    index = np.asarray(load_index, dtype=float)
    known = (index >= 0) & (index <= 200) & (index == np.floor(index))
    return np.where(known, _LOAD_KG[np.where(known, index, 0).astype(int)], np.nan)
