"""No build may lie above the bound of a row that it holds: what the ranking's exactness rests on."""

import numpy as np

from combo.solve.bounds import upper_bounds
from combo.solve.builds import keys


def test_no_listed_build_is_above_the_bound_of_any_of_its_rows(space, ranking):
    bounds = upper_bounds(space)
    key = keys(space, ranking.builds)
    for name in ("front", "rear", "drive"):
        of_rows = bounds[name][getattr(ranking.builds, name)]
        assert (of_rows >= key[:, : of_rows.shape[1]] - 1e-6).all()


def test_bounds_tell_rows_apart(space):
    assert len(np.unique(upper_bounds(space)["front"][:, 0])) > 50
