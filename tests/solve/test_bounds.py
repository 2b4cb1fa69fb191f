"""No build may lie above the bound of a row that it holds: what the ranking's exactness rests on."""

import numpy as np
import pytest

from combo.solve.bounds import KNOWN_WORLD, chain_of, through_rows, worlds_of
from combo.solve.builds import keys
from combo.solve.tune import cautious, plain, tuned


def bounds_in(chain, views):
    """The bound of each row of each table in the best of all worlds, by a way to choose the view of a level."""
    worlds = worlds_of(chain)
    of_worlds = [[through_rows(chain, views(level, world), world) for level in chain.levels] for world in worlds]
    return {name: np.maximum.reduce([np.column_stack([level.of(name) for level in own]) for own in of_worlds])
            for name in ("front", "rear", "drive")}  # fmt: skip


@pytest.mark.parametrize("way", ["plain", "cautious", "tuned"])
def test_no_listed_build_is_above_the_bound_of_any_of_its_rows(ranking, way):
    chain = chain_of(ranking.space)

    def view(level, world):
        if way == "cautious":
            return cautious(chain, level, 0.25)
        found = plain(chain, level, world)
        return (tuned(chain, found, world) if way == "tuned" else found).view

    bounds, key = bounds_in(chain, view), keys(ranking.space, ranking.builds)
    for name in ("front", "rear", "drive"):
        of_rows = bounds[name][getattr(ranking.builds, name)]
        assert (of_rows >= key[:, : of_rows.shape[1]] - 1e-3).all()


def test_a_tuned_view_is_no_looser_than_a_plain_one(space):
    chain = chain_of(space)
    found = plain(chain, chain.levels[0], KNOWN_WORLD)
    assert tuned(chain, found, KNOWN_WORLD).through.most() <= found.through.most()


def test_what_a_view_shows_is_told_with_it(space):
    chain = chain_of(space)
    simple = plain(chain, chain.levels[0], KNOWN_WORLD)
    for found in (simple, tuned(chain, simple, KNOWN_WORLD)):
        again = through_rows(chain, found.view, KNOWN_WORLD)
        for name in ("front", "rear", "drive"):
            np.testing.assert_array_equal(found.through.of(name), again.of(name))


def test_bounds_tell_rows_apart(space):
    chain = chain_of(space)
    assert len(np.unique(plain(chain, chain.levels[0], KNOWN_WORLD).through.front)) > 10
