"""Speed symbol to speed. W and Y are from memory; the others were read."""

import pytest
from figures import rows

from combo.formulas.ratings import SPEED_KM_H


@pytest.mark.parametrize("row", rows("speed_symbols.csv"), ids=lambda row: row["symbol"])
def test_speed_symbol_stands_for_the_listed_speed(row):
    assert SPEED_KM_H[row["symbol"]] == float(row["value"])


def test_no_symbol_is_without_a_published_speed():
    assert set(SPEED_KM_H) == {row["symbol"] for row in rows("speed_symbols.csv")}
