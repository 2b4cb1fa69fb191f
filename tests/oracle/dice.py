"""Strategies of one throw each: the few of hypothesis that the jobs need, on a generator of random numbers.

Hypothesis follows each example of its own with variations of it, and turns away what fits no build, so that few of its
jobs would be unlike one another. Here hypothesis draws a seed alone, and each seed is another job; none is turned away.
"""

import functools
import itertools


def composite(function):
    """A strategy of a function that draws from others."""

    @functools.wraps(function)
    def strategy(*arguments, **named):
        return lambda random: function(lambda other: other(random), *arguments, **named)

    return strategy


def sampled_from(pool):
    """One of a pool."""
    return lambda random: random.choice(pool)


def integers(low, high):
    """A whole number from low to high."""
    return lambda random: random.randint(low, high)


def booleans():
    """False or True."""
    return sampled_from((False, True))


def just(value):
    """The value."""
    return lambda random: value


def one_of(*strategies):
    """What one of the strategies draws."""
    return lambda random: random.choice(strategies)(random)


def permutations(pool):
    """The pool in any order."""
    return lambda random: random.sample(pool, len(pool))


def lists(strategy, min_size=0, max_size=3):
    """What the strategy draws, up to so many times and each once."""

    def thrown(random):
        size, drawn = random.randint(min_size, max_size), []
        for value in itertools.islice(iter(lambda: strategy(random), None), 50):
            drawn += [value] if value not in drawn and len(drawn) < size else []
        return drawn

    return thrown
