"""No build may lie above the bound of a row that it holds: what the ranking's exactness rests on."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from combo.bounds.chain import KNOWN_CASE, Nearest, chain_of, missing_cases, row_bounds
from combo.bounds.lagrangian import conservative_multipliers, initial_multipliers, optimized_multipliers
from combo.candidates.builds import keys
from combo.search.pool import NO_BAN, CandidatePool


def bounds_in(chain, views):
    """The bound of each row of each table in the best of all cases, by a way to choose the multipliers of a level."""
    cases = missing_cases(chain)
    of_worlds = [[row_bounds(chain, views(level, case), case) for level in chain.levels] for case in cases]
    return {
        name: np.maximum.reduce([np.column_stack([level.of(name) for level in own]) for own in of_worlds])
        for name in ("front", "rear", "drive")
    }


@pytest.mark.parametrize("way", ["plain", "cautious", "tuned"])
def test_no_listed_build_is_above_the_bound_of_any_of_its_rows(ranking, way):
    chain = chain_of(ranking.space)

    def multipliers(level, case):
        if way == "cautious":
            return conservative_multipliers(chain, level, 0.25)
        found = initial_multipliers(chain, level, case)
        return (optimized_multipliers(chain, found, case) if way == "tuned" else found).multipliers

    bounds, key = bounds_in(chain, multipliers), keys(ranking.space, ranking.builds)
    for name in ("front", "rear", "drive"):
        of_rows = bounds[name][getattr(ranking.builds, name)]
        assert (of_rows >= key[:, : of_rows.shape[1]] - 1e-3).all()


def test_a_tuned_view_is_no_looser_than_a_plain_one(space):
    chain = chain_of(space)
    found = initial_multipliers(chain, chain.levels[0], KNOWN_CASE)
    assert optimized_multipliers(chain, found, KNOWN_CASE).through.most() <= found.through.most()


def test_what_a_view_shows_is_told_with_it(space):
    chain = chain_of(space)
    simple = initial_multipliers(chain, chain.levels[0], KNOWN_CASE)
    for found in (simple, optimized_multipliers(chain, simple, KNOWN_CASE)):
        again = row_bounds(chain, found.multipliers, KNOWN_CASE)
        for name in ("front", "rear", "drive"):
            np.testing.assert_array_equal(found.through.of(name), again.of(name))


def test_bounds_tell_rows_apart(space):
    chain = chain_of(space)
    assert len(np.unique(initial_multipliers(chain, chain.levels[0], KNOWN_CASE).through.front)) > 10


corners = st.lists(
    st.tuples(st.integers(-50, 50), st.one_of(st.none(), st.integers(0, 30)), st.integers(-1, 2)),
    min_size=1,
    max_size=12,
)


@given(corners, corners, st.integers(0, 5))
def test_the_best_beside_a_corner_is_the_best_of_all_that_may_stand_there(ones, others, fall):
    def columns(rows):
        sizes, links = (np.array([row[at] for row in rows], dtype=float) for at in (1, 2))
        return sizes, links.astype(np.int64)

    values = np.array([float(row[0]) for row in ones])
    (sizes, links), (wanted, wanted_links) = columns(ones), columns(others)
    every, asked = np.ones(len(ones), dtype=bool), wanted_links != -1
    near = Nearest.among(sizes, links, links != -1, wanted, wanted_links, asked)
    expected = [
        max(
            (
                value - fall * abs(size - want)
                for value, size, link in zip(values, sizes, links, strict=True)
                if link == of and link != -1 and not np.isnan(size)
            ),
            default=-np.inf,
        )
        if ask and not np.isnan(want)
        else -np.inf
        for want, of, ask in zip(wanted, wanted_links, asked, strict=True)
    ]
    assert np.allclose(near.best(values, float(fall)), expected)
    of_any = Nearest.among(sizes, 0 * links, every, wanted, 0 * wanted_links, asked)
    assert len(of_any.order) == (~np.isnan(sizes)).sum()


def test_what_is_capped_by_a_build_never_hides_a_better_one(reduced, ranking):
    """Bounds tightened by the fifth build still hold the first five."""
    key = keys(ranking.space, ranking.builds)
    field = CandidatePool(reduced)
    capped = field.capped(key[4, : len(field.chain.levels)])
    assert capped.most() <= field.most() + 1e-6
    assert capped.most() >= float(key[0, 0]) - 1e-3
    places = ranking.space.places["rear"][ranking.builds.rear[:5]]
    rows = capped.reaching(key[4, : len(field.chain.levels)], 5, NO_BAN)
    reached = set(zip(rows.rear.wheel.tolist(), rows.rear.tire.tolist(), rows.rear.spacer.tolist(), strict=True))
    assert {tuple(place) for place in places.tolist()} <= reached
