"""Sizes as the standards list them, decoded and read from a list. Flotation sizes, numeric light truck sizes, diagonal
passenger sizes and radials without a series are from memory; measuring rims where none is listed, too.
"""

import pytest
from figures import half_last_digit, rows

from combo.formulas.tire import section_width_on_rim_mm
from combo.job import ListFile
from combo.parts import TIRE
from combo.read.designation import decode
from combo.read.lists import read_lists
from combo.read.report import ListReport
from combo.read.settle import settle_tires

FLOTATION = rows("flotation_diameters.csv")
METRIC = rows("listed_metric_sizes.csv")
WORKED = rows("section_widths.csv")


def size(row):
    return row.get("designation") or row["case"]


@pytest.fixture
def read_tire(tmp_path):
    """A tire of a list that states no more than the cells given, as reading settles it."""

    def read(**cells):
        cells = {"sku": "T-1", "price": "99"} | cells
        path = tmp_path / "tires.csv"
        path.write_text(",".join(cells) + "\n" + ",".join(map(str, cells.values())) + "\n", encoding="utf-8")
        report = ListReport()
        table = read_lists(TIRE, (ListFile(str(path), path.name),), {}, report).table
        settled = settle_tires(table, report)
        assert (report.problems, len(settled)) == ([], 1)
        return settled.iloc[0]

    return read


def width_mm(tire, rim_width_in):
    """Section width on a rim, of a tire that was read."""
    return section_width_on_rim_mm(tire["section_width_mm"], tire["measuring_rim_mm"], float(rim_width_in) * 25.4)


@pytest.mark.parametrize("row", FLOTATION, ids=size)
def test_flotation_size_has_the_listed_diameter_within_1_mm(row):
    assert decode(row["designation"]).running_diameter_mm == pytest.approx(float(row["value"]), abs=1.0)


@pytest.mark.parametrize("row", FLOTATION, ids=size)
def test_flotation_size_clears_more_than_its_listed_diameter(row):  # deep treads, 6 mm more: from memory
    assert decode(row["designation"]).overall_diameter_mm == pytest.approx(float(row["value"]) + 6.0, abs=1.0)


@pytest.mark.parametrize("row", rows("listed_in_inches.csv"), ids=size)
def test_designation_gives_the_size_printed_in_inches(row):
    size_in = getattr(decode(row["designation"]), row["size"]) / 25.4
    assert size_in == pytest.approx(float(row["value"]), abs=half_last_digit(row["value"]))


def marks_its_service(row):
    return decode(row["designation"]).service != ""


def marks_its_type(row):
    return marks_its_service(row) or "R" in row["designation"]


CONSTRUCTIONS = rows("listed_constructions.csv")


@pytest.mark.parametrize("row", [row for row in CONSTRUCTIONS if marks_its_type(row)], ids=size)
def test_designation_tells_the_listed_construction(row):
    assert decode(row["designation"]).construction == row["value"]


@pytest.mark.parametrize("row", [row for row in CONSTRUCTIONS if not marks_its_type(row)], ids=size)
def test_dash_of_a_size_of_unknown_service_is_no_proof_of_the_listed_construction(row):
    assert (row["value"], decode(row["designation"]).construction) == ("bias", "")


def test_most_listed_constructions_are_told():
    assert sum(map(marks_its_type, CONSTRUCTIONS)) == 26


# Widths and diameters through the reading of a list


@pytest.mark.parametrize("listed_rim", [{}, {"measuring_rim_in": "fitted"}, {"measuring_rim_in": "9.5"}], ids=str)
@pytest.mark.parametrize("row", WORKED, ids=size)
def test_nominal_width_on_the_fitted_rim_is_the_worked_one_whatever_measuring_rim_is_listed(read_tire, row, listed_rim):
    rim_in = row["rim_width_in"]
    cells = {name: rim_in if rim == "fitted" else rim for name, rim in listed_rim.items()}
    tire = read_tire(designation=row["case"].split(" on ")[0], **cells)
    assert width_mm(tire, rim_in) == pytest.approx(float(row["value"]), abs=0.5)


@pytest.mark.parametrize("listed", [True, False], ids=["rim listed", "rim not listed"])
@pytest.mark.parametrize("row", FLOTATION, ids=size)
def test_flotation_size_is_as_wide_on_its_measuring_rim_as_is_listed(read_tire, row, listed):
    cells = {"measuring_rim_in": row["measuring_rim_in"]} if listed else {}
    tire = read_tire(designation=row["designation"], **cells)
    # The widest gap: 14.50 in are 368 mm, and 372 are listed.
    assert width_mm(tire, row["measuring_rim_in"]) == pytest.approx(float(row["section_width_mm"]), abs=4.0)


@pytest.mark.parametrize("row", FLOTATION, ids=size)
def test_flotation_size_is_measured_on_its_listed_rim_within_half_an_inch(read_tire, row):
    apart_in = read_tire(designation=row["designation"])["measuring_rim_mm"] / 25.4 - float(row["measuring_rim_in"])
    assert apart_in == pytest.approx(-0.5 if row["designation"].startswith("37x14.50") else 0.0)


@pytest.mark.parametrize("row", FLOTATION, ids=size)
def test_flotation_size_rolls_on_its_listed_diameter(read_tire, row):
    tire = read_tire(designation=row["designation"])
    assert tire["running_diameter_mm"] == pytest.approx(float(row["value"]), abs=1.0)


@pytest.mark.parametrize("row", [row for row in METRIC if row["width_is"] == "design"], ids=size)
def test_radial_without_a_series_is_as_wide_on_its_measuring_rim_as_is_listed_within_3_mm(read_tire, row):
    tire = read_tire(designation=row["designation"])
    assert width_mm(tire, row["measuring_rim_in"]) == pytest.approx(float(row["section_width_mm"]), abs=3.0)


@pytest.mark.parametrize(
    "row", [row for row in METRIC if row["width_is"] == "greatest" and row["measuring_rim_in"]], ids=size
)
def test_commercial_size_is_on_its_measuring_rim_no_wider_than_is_allowed(read_tire, row):
    tire = read_tire(designation=row["designation"], measuring_rim_in=row["measuring_rim_in"])
    assert (
        float(row["section_width_mm"]) - 3.0 < width_mm(tire, row["measuring_rim_in"]) <= float(row["section_width_mm"])
    )


@pytest.mark.parametrize("row", METRIC, ids=size)
def test_size_stands_as_tall_as_is_listed_within_1_1_percent(read_tire, row):
    tire = read_tire(designation=row["designation"])
    assert tire["overall_diameter_mm"] == pytest.approx(float(row["outer_diameter_mm"]), rel=0.011)


@pytest.mark.parametrize("row", [row for row in METRIC if row["measuring_rim_in"]], ids=size)
def test_listed_width_without_a_rim_was_taken_within_half_an_inch_of_the_listed_rim(read_tire, row):
    tire = read_tire(designation=row["designation"], section_width_mm=row["section_width_mm"])
    assert tire["measuring_rim_mm"] == pytest.approx(float(row["measuring_rim_in"]) * 25.4, abs=12.8)


@pytest.mark.parametrize("row", [row for row in METRIC if row["measuring_rim_in"]], ids=size)
def test_listed_width_is_the_width_on_the_listed_rim(read_tire, row):
    tire = read_tire(
        designation=row["designation"],
        section_width_mm=row["section_width_mm"],
        measuring_rim_in=row["measuring_rim_in"],
    )
    assert width_mm(tire, row["measuring_rim_in"]) == pytest.approx(float(row["section_width_mm"]))


@pytest.mark.parametrize(
    ("designation", "width", "rim_in"),
    [
        ("235/75R15", 235, 6.5),
        ("265/70R16", 272, 8.0),
        ("205/60R15", 209, 6.0),
        ("275/55R20", 284, 8.5),
        ("225/50R17", 233, 7.0),
        ("225/45R17", 225, 7.5),
    ],
)  # rims from memory of the tables of the Tire and Rim Association and of ETRTO
def test_listed_width_without_a_rim_was_taken_on_the_rim_of_the_size(read_tire, designation, width, rim_in):
    tire = read_tire(designation=designation, section_width_mm=width)
    assert tire["measuring_rim_mm"] / 25.4 == pytest.approx(rim_in)
