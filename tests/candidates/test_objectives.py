"""What a level sees of ballast: never less than any layout of it earns, and no more than the best."""

import math

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from combo.candidates.objectives import BallastLine, ObjectiveBound, traction_worth

SHARES = np.linspace(0.0, 1.0, 101)

loads, most_laid, least_laid = st.floats(-100_000.0, 900_000.0), st.floats(0.0, 500_000.0), st.floats(0.0, 200_000.0)
segments = st.lists(st.tuples(st.integers(-5, 15), st.integers(0, 200_000)), min_size=1, max_size=5).map(sorted)


@st.composite
def lines(draw):
    """A convex line through points a segment of ballast apart, and a level that weighs traction or does not; of one
    slot, whose items bring a gram each.
    """
    rates, lengths = (np.array(own, dtype=float) for own in zip(*draw(segments), strict=True))
    reach = np.concatenate([[0.0], np.cumsum(lengths)])
    loss = np.concatenate([[0.0], np.cumsum(rates / 100.0 * lengths)])
    least = draw(st.one_of(st.just(-math.inf), st.floats(0.0, 900_000.0)))
    level = ObjectiveBound(
        {"traction": draw(st.integers(0, 3))},
        0.0,
        0.0,
        0.0,
        rear_least_g=least,
        full_thrust=draw(st.sampled_from([1e5, 4e5, 1e6])),
    )
    only = np.zeros(len(lengths), dtype=np.int64)
    return BallastLine(level, reach, loss, only, reach, lengths, helps=np.zeros(1), bonus=0.0)


@settings(max_examples=1000)
@given(lines(), loads, st.floats(0.2, 1.0), most_laid, least_laid)
def test_the_best_ballast_is_the_best_of_all_that_may_be_laid(line, load, grip, most, least):
    load_g, of_grip = np.array([load]), np.array([grip])
    end = min(most, line.reach_g[-1])
    best = line.best(load_g, of_grip, most, least)[0]
    need = max(least, line.level.rear_least_g - load, 0.0)
    if need > end + 1.0:
        assert best == -math.inf
    elif need <= end:
        laid = np.unique(
            np.concatenate(
                [
                    need + SHARES * (end - need),
                    np.clip(line.reach_g, need, end),
                    [np.clip(line.level.full_thrust / grip - load, need, end)],
                ]
            )
        )
        worth = traction_worth(line.level, load + laid, np.full(len(laid), grip))
        assert math.isclose(best, (worth - np.interp(laid, line.reach_g, line.loss)).max(), rel_tol=1e-9, abs_tol=1e-6)


@given(lines(), loads, st.floats(0.2, 1.0), most_laid, least_laid)
def test_what_is_laid_is_what_the_best_ballast_is(line, load, grip, most, least):
    best = line.best(np.array([load]), np.array([grip]), most, least)[0]
    laid = line.laid(load, grip, most, least) @ np.ones(1)
    if math.isfinite(best):
        worth = traction_worth(line.level, np.array([load + laid]), np.array([grip]))[0]
        assert math.isclose(best, worth - np.interp(laid, line.reach_g, line.loss), rel_tol=1e-9, abs_tol=1e-6)


@given(lines())
def test_a_load_that_is_not_known_earns_nothing_and_gets_what_pays_for_itself(line):
    pays = max(0.0, -line.loss.min())
    assert line.best(np.array([math.nan]), np.array([0.5]))[0] == pays
    assert -np.interp(line.laid(math.nan, 0.5, math.inf, 0.0)[0], line.reach_g, line.loss) == pays
