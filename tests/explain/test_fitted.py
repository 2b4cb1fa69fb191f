"""What is measured with the parts on, against a small job of round numbers worked by hand, and what it says.

At the rear the wheel W is 8 in wide with 0 mm of offset: its backspace is (203.2 + 2 x 12.7) / 2 = 114.3 mm. The tire
T is 240 mm wide on that rim and 740 mm tall. So inner = 200 - 0 - 240 / 2 = 80, outer = 190 + 0 - 120 = 70, rim_inner =
200 - 114.3 = 85.7, lip = 500 - 740 / 2 = 130, opening_ahead = 450 - 370 = 80, opening_behind = 460 - 370 = 90,
top_full_bump = 430 - 370 = 60 and brake_spoke = 30 - 25 = 5. Every tape, before and after, is good for 1 mm: 2 mm for
each of them.
"""

import json

import pytest

from combo.explain.fitted import fitted
from combo.problems import Problems
from combo.read.load import load
from combo.show.fitted import fitted_json, says

HOUSE = """room_inner = "200 mm"
room_outer = "190 mm"
hub_to_lip = "500 mm"
opening_ahead = "450 mm"
opening_behind = "460 mm"
"""
JOB = f"""[job]
name = "By hand"
units = "metric"
[truck]
wheelbase = "3000 mm"
[hub.front]
bolt_circle = "5x114.3"
[hub.rear]
bolt_circle = "5x114.3"
[wheelhouse.front]
{HOUSE}
[wheelhouse.rear]
{HOUSE}
[wheelhouse.rear.full_bump]
hub_to_top = "430 mm"
[brakes.rear]
caliper_reach = "25 mm"
[present]
front_wheel_and_tire = "25 kg"
rear_wheel_and_tire = "25 kg"
rear_hub_height = "350 mm"
rear_tire_diameter = "740 mm"
rear_ground_clearance = "200 mm"
[loads]
front_axle = "1100 kg"
rear_axle = "900 kg"
[transmission]
cruise_gear = 1.0
[targets]
cruise_speed = "60 mph"
top_speed = "85 mph"
[tolerance]
length = "1 mm"
tires = "none"
[files]
wheels = "wheels.csv"
tires = "tires.csv"
spacers = "spacers.csv"
ratios = "ratios.csv"
differentials = "differentials.csv"
"""
LISTS = {
    "wheels.csv": "sku,size,bolt_circle,offset_mm,spoke_clearance_mm,mass_kg,price\nW,15x8,5x114.3,0,30,10,100\n",
    "tires.csv": "sku,designation,section_width_mm,measuring_rim_in,overall_diameter_mm,revs_per_mile,mass_kg,price\n"
    "T,235/75R15,240,8,740,700,15,100\n",
    "spacers.csv": "sku,thickness_mm,bolt_circle,mass_kg,price\nS,20,5x114.3,1,20\n",
    "ratios.csv": "sku,ratio,price\nG-400,4.00,200\nG-410,4.10,200\n",
    "differentials.csv": "sku,type,ratio_min,ratio_max,price\nD,open,3.5,4.9,140\n",
}
PARTS = 'wheel = "W"\ntire = "T"\n'


@pytest.fixture
def read(tmp_path):
    """The job as read, with what is measured at the rear, of the truck and at the front."""

    def read_(rear="", truck="", front="", job=JOB, parts=PARTS):
        def lines(sizes):
            return "".join(f'{key} = "{size}"\n' for key, size in sizes.items())

        text = f"{job}[fitted]\n{lines(truck or {})}[fitted.rear]\n{parts}{lines(rear or {})}"
        text += f"[fitted.front]\n{PARTS}{lines(front)}" if front else ""
        for name, own in (LISTS | {"job.toml": text}).items():
            (tmp_path / name).write_text(own, encoding="utf-8")
        return load(tmp_path / "job.toml")

    return read_


@pytest.fixture
def fit_of(read):
    """Readings and findings of a job."""

    def fit_of_(*args, **kwargs):
        loaded = read(*args, **kwargs)
        return fitted(loaded.job, loaded.parts)

    return fit_of_


@pytest.fixture
def told(read):
    """What it says."""

    def told_(*args, **kwargs):
        loaded = read(*args, **kwargs)
        return says(loaded.job, fitted(loaded.job, loaded.parts))

    return told_


@pytest.mark.parametrize(
    ("what", "computed"),
    [
        ("inner", 80.0),
        ("outer", 70.0),
        ("rim_inner", 85.7),
        ("lip", 130.0),
        ("opening_ahead", 80.0),
        ("opening_behind", 90.0),
        ("top_full_bump", 60.0),
        ("brake_spoke", 5.0),
        ("hub_height", 350.0),
        ("ground", 200.0),
    ],
)
def test_each_room_is_computed_with_no_clearance_asked_and_no_growth_at_speed(fit_of, what, computed):
    (own,) = fit_of({what: "50 mm"}).readings
    assert own.computed == pytest.approx(computed)
    assert own.off == pytest.approx(50.0 - computed)


def test_a_spacer_moves_the_tire_outboard(fit_of):  # 20 mm: inner 100, outer 50
    readings = fit_of({"inner": "100 mm", "outer": "50 mm"}, parts=PARTS + 'spacer = "S"\n').readings
    assert [own.computed for own in readings] == pytest.approx([100.0, 50.0])


@pytest.mark.parametrize(
    ("inner", "within"), [("82 mm", True), ("82.1 mm", False), ("78 mm", True), ("77.9 mm", False)]
)
def test_off_by_the_plus_or_minus_is_within_and_beyond_is_off(fit_of, inner, within):
    (own,) = fit_of({"inner": inner}).readings
    assert own.within is within


def test_a_plus_or_minus_of_the_reading_widens_it(fit_of):  # 1 mm of the room, 3 mm of the reading
    (own,) = fit_of({"inner": "84 mm +- 3 mm"}).readings
    assert (own.plus_or_minus, own.within) == (pytest.approx(4.0), True)


def test_the_standard_of_the_tire_widens_it(fit_of):  # half of 4 % of 240 mm is 4.8 mm
    (own,) = fit_of({"inner": "80 mm"}, job=JOB.replace('tires = "none"\n', "")).readings
    assert own.plus_or_minus == pytest.approx(6.8)


def test_what_is_within_says_nothing(told):
    assert told({"inner": "81 mm", "outer": "69 mm", "lip": "131 mm"}) == []


def test_inner_and_rim_off_alike_with_the_outer_right_are_the_room_inside(told):
    (line,) = told({"inner": "86 mm", "outer": "70 mm", "rim_inner": "91.7 mm"})
    assert line == (
        "Rear: inner is 6.0 mm more than computed, rim_inner 6.0 mm more. One thing explains it: "
        'set wheelhouse.rear.room_inner = "206 mm" (now 200 mm).'
    )


def test_off_to_opposite_sides_is_the_backspace_or_the_face_of_the_plumb_lines(told):
    (line,) = told({"inner": "86 mm", "outer": "64 mm"})  # 6 mm farther out: backspace 108.3, told to half a millimeter
    assert "(1) both plumb lines were read from a face 6.0 mm too far in: " in line
    assert 'room_inner = "206 mm" (now 200 mm) and set wheelhouse.rear.room_outer = "184 mm" (now 190 mm)' in line
    assert "(2) the backspace of W is 108.5 mm, not 114.3 mm: lay the wheel face down and tape it" in line
    assert "wider" not in line


def test_off_to_the_same_side_is_the_tires_width_or_both_rooms(told):
    (line,) = told({"inner": "76 mm", "outer": "66 mm"})  # each side 4 mm less: 8 mm wider, or each room 4 mm too large
    assert "both rooms were taped 4.0 mm too large" in line
    assert "T is 8.0 mm wider than listed" in line
    assert line.endswith("To tell them apart, measure rim_inner in [fitted.rear].")
    assert "backspace" not in line


@pytest.mark.parametrize(
    ("rim", "there", "gone"),
    [("85.7 mm", "T is 12.0 mm wider", "both rooms"), ("79.7 mm", "both rooms were taped 6.0 mm", "wider")],
)
def test_the_rim_tells_width_and_rooms_apart(told, rim, there, gone):
    (line,) = told({"inner": "74 mm", "outer": "64 mm", "rim_inner": rim})
    assert "One thing explains it" in line
    assert there in line
    assert gone not in line


def test_inner_off_alone_with_rim_and_outer_right_is_measured_again(told):
    (line,) = told({"inner": "86 mm", "outer": "70 mm", "rim_inner": "85.7 mm"})
    assert line.endswith("No one entry explains it: measure inner again.")


def test_what_no_one_entry_explains_is_split_into_sideways_and_width(told):
    (line,) = told({"inner": "90 mm", "outer": "66 mm"})  # +10 and -4: (10 + 4) / 2 = 7 out, -(10 - 4) = 6 narrower
    assert "The tire stands 7.0 mm farther out than computed" in line
    assert "it is 6.0 mm narrower, or both rooms were taped 3.0 mm too small" in line


def test_a_wheel_that_stands_right_at_the_front_has_its_listed_backspace(told):
    rear = {"inner": "86 mm", "outer": "64 mm"}
    assert "backspace" in told(rear)[0]
    (line,) = told(rear, front={"inner": "80 mm", "outer": "70 mm"})
    assert "backspace" not in line
    assert "One thing explains it: both plumb lines were read from a face" in line


def test_lip_and_openings_off_alike_are_the_tires_diameter(told):
    (line,) = told({"lip": "125 mm", "opening_ahead": "75 mm", "opening_behind": "85 mm"})  # each 5 mm: 10 mm taller
    assert line.endswith("One thing explains it: T is 750 mm tall, not 740 mm: tape around it and divide by 3.1416.")


def test_the_lip_off_alone_is_its_own_entry(told):
    (line,) = told({"lip": "125 mm", "opening_ahead": "80 mm"})
    assert 'One thing explains it: set wheelhouse.rear.hub_to_lip = "495 mm" (now 500 mm).' in line


def test_two_entries_off_are_told_each_by_itself(told):
    lines = told({"lip": "125 mm", "opening_ahead": "86 mm", "opening_behind": "90 mm"})
    assert ['hub_to_lip = "495 mm"' in lines[0], 'opening_ahead = "456 mm"' in lines[1], len(lines)] == [True, True, 2]


def test_hub_and_lowest_point_off_alike_are_the_tires_sinking_in(told):
    (line,) = told({"hub_height": "344 mm", "ground": "194 mm", "lip": "130 mm"})
    assert "the tire sinks in 6.0 mm more than the present one did: check its pressure" in line
    assert "tall" not in line  # the lip stands where it should, so the tire has its diameter
    assert "rear_hub_height" not in line  # that would move the hub alone


def test_an_engine_speed_that_is_off_tells_the_revolutions_and_the_ratio(told):
    # 60 mph is a mile a minute: 700 x 4.00 = 2,800 rpm; 2,880 / 2,800 x 700 = 720, x 4.00 = 4.11; 4.10 gives 2,870
    (line,) = told(truck={"cruise_rpm": "2880 rpm +- 20 rpm", "ratio": "G-400"})
    assert line.startswith("cruise_rpm: 80 rpm more than computed.")
    assert "the rear tire turns 720 times a mile, not 700" in line
    assert "the axle ratio is 4.11, not 4.00 (G-410 would do)" in line
    (line,) = told(truck={"cruise_rpm": "2880 rpm +- 5 rpm", "ratio": "G-400"})
    assert "would do" not in line


def test_an_axle_load_that_is_off_sends_to_the_scale(told):  # 900 - 2 x 25 + 2 x (10 + 15) = 900 kg
    (line,) = told(truck={"rear_axle": "912 kg"})
    assert line.startswith("rear_axle: 12.0 kg more than computed. Weigh again")


def test_a_load_case_brings_its_items(fit_of):  # 100 kg over the rear axle line
    item = '[[loads.items]]\nname = "crate"\nmass = "100 kg"\nstation = "0 mm"\ncases = ["full"]\n'
    job = JOB.replace('rear_axle = "900 kg"\n', f'rear_axle = "900 kg"\n{item}')
    empty, full = (
        fit_of(truck={"rear_axle": "900 kg"} | case, job=job).readings[0].computed for case in ({}, {"case": "full"})
    )
    assert (empty, full) == (pytest.approx(900.0), pytest.approx(1000.0))


def test_the_whole_answer_as_json(read):
    loaded = read({"inner": "86 mm", "rim_inner": "91.7 mm", "top": "40 mm"})
    assert json.loads(fitted_json(loaded.job, fitted(loaded.job, loaded.parts))) == {
        "format": 1,
        "fitted": [
            {
                "what": "inner",
                "where": "rear",
                "computed_mm": 80.0,
                "measured_mm": 86.0,
                "off_mm": 6.0,
                "plus_or_minus_mm": 2.0,
                "within": False,
            },
            {
                "what": "rim_inner",
                "where": "rear",
                "computed_mm": 85.7,
                "measured_mm": 91.7,
                "off_mm": 6.0,
                "plus_or_minus_mm": 2.0,
                "within": False,
            },
            {
                "what": "top",
                "where": "rear",
                "computed_mm": None,
                "measured_mm": 40.0,
                "off_mm": None,
                "plus_or_minus_mm": None,
                "within": None,
                "needs": [
                    {
                        "name": "hub to top",
                        "of": "truck, [wheelhouse.rear.ride_height]",
                        "how": "hub center up to the wheelhouse's top, here",
                    }
                ],
            },
        ],
        "says": [
            "Rear: inner is 6.0 mm more than computed, rim_inner 6.0 mm more. Any one of these explains it: "
            '(1) set wheelhouse.rear.room_inner = "206 mm" (now 200 mm); '
            "(2) the backspace of W is 108.5 mm, not 114.3 mm: lay the wheel face down and tape it. "
            "To tell them apart, measure outer in [fitted.rear]."
        ],
    }


@pytest.mark.parametrize(
    ("gone", "need"),
    [
        ('room_outer = "190 mm"\n', "truck, [wheelhouse.rear]: room outer"),
        ('caliper_reach = "25 mm"\n', "truck, [brakes.rear]: caliper reach"),
        ('rear_hub_height = "350 mm"\n', "truck, [present]: rear hub height"),
        ('cruise_speed = "60 mph"\n', "truck, [targets]: cruise speed"),
        ('rear_wheel_and_tire = "25 kg"\n', "truck, [present]: rear wheel and tire"),
    ],
)
def test_an_entry_that_is_missing_is_told_as_something_to_measure(fit_of, gone, need):
    rear = {"outer": "70 mm", "brake_spoke": "5 mm", "hub_height": "350 mm"}
    fit = fit_of(rear, {"cruise_rpm": "2800 rpm", "rear_axle": "900 kg", "ratio": "G-400"}, job=JOB.replace(gone, ""))
    assert need in " ".join(one.text() for own in fit.readings for one in own.needs)
    assert not fit.findings


def test_parts_that_are_not_named_are_asked_for(fit_of):
    (own,) = fit_of({"inner": "80 mm"}, parts='wheel = "W"\n').readings
    assert [need.text() for need in own.needs] == [
        "truck, [fitted.rear]: tire (SKU of the tire that was fitted, as its list has it)"
    ]


def test_an_unknown_sku_is_one_problem_with_the_nearest_name(fit_of):
    with pytest.raises(Problems) as found:
        fit_of({"inner": "80 mm"}, {"ratio": "G-401"})
    (problem,) = found.value.problems
    assert problem.text().startswith('job.toml, [fitted], key "ratio": no ratio "G-401"; the nearest listed is "G-41')


def test_an_unknown_load_case_is_a_problem(fit_of):
    with pytest.raises(Problems, match="as weighed"):
        fit_of({"inner": "80 mm"}, {"case": "laden"})


def test_nothing_measured_is_one_problem_that_names_the_keys(fit_of):
    with pytest.raises(Problems) as found:
        fit_of()
    (problem,) = found.value.problems
    assert problem.word == "nothing-measured"
    assert all(key in problem.accepted for key in ("inner", "rim_inner", "hub_height", "cruise_rpm", "rear_axle"))
