"""Published figures as they stand in the tables of this folder, and how finely they are printed."""

import csv
from decimal import Decimal
from pathlib import Path


def rows(name):
    """Rows of a table, as texts."""
    with Path(__file__).with_name(name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def half_last_digit(printed):
    """Half of the last digit that a figure is printed with: no tolerance is finer."""
    return 0.5 * 10.0 ** Decimal(printed).as_tuple().exponent
