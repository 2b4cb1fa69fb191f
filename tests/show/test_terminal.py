"""What the terminal shows, as text."""

import dataclasses
import io

import pytest
from rich.console import Console
from rich.table import Table
from rich.text import Text

from combo.search.filter import space_of
from combo.search.topk import rank
from combo.show import words
from combo.show.lists import show_lists
from combo.show.terminal import console, part_lines, show_ranking


def shown(ranking, parts, width=156):
    """The ranking as printed."""
    out = Console(file=io.StringIO(), width=width, markup=False, highlight=False)
    show_ranking(out, ranking, parts)
    return out.file.getvalue()


@pytest.fixture(scope="module")
def without_hub_to_top(example):
    """The example with nothing measured over the front tire at full bump."""
    houses = example.job.wheelhouse
    bump = dataclasses.replace(houses.front.full_bump, hub_to_top_mm=float("nan"))
    front = dataclasses.replace(houses.front, full_bump=bump)
    job = dataclasses.replace(example.job, wheelhouse=dataclasses.replace(houses, front=front))
    return shown(rank(space_of(job, example.parts), 2), example.parts)


def test_a_measurement_that_is_missing_is_told_with_its_place(without_hub_to_top):
    assert "- truck, [wheelhouse.front]: hub to top (hub center up to the wheelhouse's top" in without_hub_to_top


def test_a_missing_measurement_is_called_no_pass(without_hub_to_top):
    assert "Not verified, and no pass until measured: tire to wheelhouse top, front" in without_hub_to_top


def test_the_table_tells_parts_cost_rpm_load_and_binding_check(example, ranking):
    text = shown(ranking, example.parts)
    assert all(name in text for name in ("parts", "cost", "cruise", "rear load", "tightest fit", "binding"))
    assert f"{ranking.ranked[0].totals['cost_cents'] / 100:,.2f}" in text


def test_cautions_defer_to_local_codes(example, ranking):
    assert "Local codes differ" in shown(ranking, example.parts)


@pytest.mark.parametrize("width", [80, 100, 156])
def test_no_word_of_a_binding_check_is_cut_off(example, ranking, width):
    told = shown(ranking, example.parts, width).split()
    wanted = {word for one in ranking.ranked for word in words.in_short(example.job, one.binding).split()}
    assert wanted <= set(told)


@pytest.mark.parametrize("width", [70, 80, 120])
def test_no_part_number_is_broken(example, ranking, width):
    told = shown(ranking, example.parts, width).split()
    every = [line for one in ranking.ranked for line in part_lines(ranking.space, ranking.builds, one.at)]
    assert {word for line in every for word in line.split()} <= set(told)


def test_what_a_terminal_would_obey_is_shown(capsys):
    hostile = "\x1b[2J\u202e\x85 [red]x[/red] :smile:"
    told = "\\x1b[2J\\u202e\\x85 [red]x[/red] :smile:"
    table = Table("name")
    table.add_row(hostile)
    out = console()
    for one in (hostile, Text(hostile, style="bold"), table):
        out.print(one)
    assert capsys.readouterr().out.count(told) == 3


def test_a_job_name_begins_no_line_of_its_own(example, capsys):
    about = dataclasses.replace(example.job.job, name="a\nProven\x07")
    show_lists(console(), dataclasses.replace(example, job=dataclasses.replace(example.job, job=about)), [])
    assert "a\\nProven\\x07: everything reads." in capsys.readouterr().out
