"""Load index to mass, 0 to 200. Index 59 is from memory (see its note); the others were read."""

import pytest
from figures import rows

from combo.formulas.ratings import load_of_index_kg


@pytest.mark.parametrize("row", rows("load_index.csv"), ids=lambda row: row["load_index"])
def test_load_index_carries_the_listed_mass(row):
    assert float(load_of_index_kg(float(row["load_index"]))) == float(row["value"])


def test_table_has_every_index_from_0_to_200():
    assert [int(row["load_index"]) for row in rows("load_index.csv")] == list(range(201))
