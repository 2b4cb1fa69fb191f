"""What moving a limit would buy: the best build were it given up, and every step on the way there at which it changes.

The best build can only change where the limit comes to a margin that the best build so far no longer has. So a walk
moves the limit each time to just short of what the last build needs: between two builds of a walk none other is best.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from combo.candidates.instance import Instance
from combo.candidates.relaxed_limits import RelaxedLimits, at_most, short_of
from combo.deadline import CutShortError
from combo.explain.best import Best, best_build, best_that_fail, first_that_fail
from combo.explain.limits import Limit, amounts_of, movable, that_may_matter
from combo.explain.workers import call_parallel

HALVINGS, NEAR, TIGHTER = 6, 6, 4
"""How often the way to a limit's end is halved, and how many steps are walked on either side of what is asked now."""


@dataclass(frozen=True)
class Step:
    """The best build from where a limit gives way by so much, in its check's unit, up to the step before it.

    `moved` is positive where the limit asks for less than the job does, negative where it may ask for more, and NaN
    where the build leaves the check unverified, whatever the limit. `is_next` is False where other steps may lie
    between this one and the one after it.
    """

    moved: float
    best: Best
    is_next: bool = True


@dataclass(frozen=True)
class Gain:
    """The best build were a limit given up, and by how much the limit must give way for it."""

    limit: Limit
    step: Step


@dataclass(frozen=True)
class Gains:
    """The limits that alone stand in the way of a better build, those first that stop the best builds; `unknown` are
    those of which it is not known, as the search was cut short.
    """

    found: tuple[Gain, ...]
    unknown: tuple[Limit, ...]


@dataclass(frozen=True)
class Sweep:
    """Steps of a limit, the widest first; `proven` is False where the search was cut short before it had all that are
    asked for. Those that it has are proven.
    """

    found: tuple[Step, ...]
    proven: bool = True


def gains(instance: Instance, now: Best | None) -> Gains:
    """What each limit given up would buy against the best build now (against none where nothing fits)."""
    asked = that_may_matter(instance, movable(instance.job))
    first, unknown = first_that_fail(instance, asked, now.key if now else None)
    found = [
        Gain(limit, _step(limit, first[limit]))
        for limit in asked
        if limit in first and (now is None or first[limit].key < now.key)
    ]
    return Gains(tuple(sorted(found, key=lambda gain: gain.step.best.key)), tuple(unknown))


def steps(instance: Instance, limit: Limit, now: Best | None) -> Sweep:
    """Steps of a limit, the widest first: where it is given up, some on the way, and those near to what is asked now,
    on either side.

    Parameters
    ----------
    now : Best or None
        The best build as the job asks now; None where nothing fits.
    """
    wider, tighter = call_parallel([lambda: _wider(instance, limit, now), lambda: _tighter(instance, limit, now)])
    proven = wider.proven and tighter.proven
    if not wider.found or wider.found[-1].moved > 0:
        return Sweep(wider.found, proven)
    *before, now_step = wider.found
    for same in tighter.found[:1]:
        now_step = replace(now_step, is_next=now_step.is_next and same.is_next)
    return Sweep((*before, now_step, *tighter.found[1:]), proven)


def _wider(instance: Instance, limit: Limit, now: Best | None) -> Sweep:
    """Steps from where a limit is given up to the first that needs no more than is asked now."""
    way = _Way(instance, limit, now)

    def walked() -> None:
        if not way.goes_to(math.inf):
            return
        if limit.is_yes_or_no:
            if now is not None and way.moved > 0:
                way.found.append(_step(limit, now))
            return
        way.halve()
        if way.moved > 0:
            way.walk(NEAR)

    return way.told(walked)


def _tighter(instance: Instance, limit: Limit, now: Best | None) -> Sweep:
    """Steps from that of the best build now on, where the limit asks for more and more."""
    if now is None or limit.is_yes_or_no:
        return Sweep(())
    way = _Way(instance, limit, None)
    way.found.append(_step(limit, now))
    return way.told(lambda: way.walk(TIGHTER))


class _Way:
    """The steps of a limit found so far, the widest first; `now` is the best build of all that need nothing moved."""

    def __init__(self, instance: Instance, limit: Limit, now: Best | None) -> None:
        self._lists, self._limit, self._now = instance, limit, now
        self.found: list[Step] = []

    @property
    def moved(self) -> float:
        """By how much the limit gives way at the last step."""
        return self.found[-1].moved

    def told(self, walked: Callable[[], None]) -> Sweep:
        """The steps of a walk, or of as much of it as there was time for."""
        try:
            walked()
        except CutShortError:
            self.found[-1:] = [replace(step, is_next=False) for step in self.found[-1:]]
            return Sweep(tuple(self.found), proven=False)
        return Sweep(tuple(self.found))

    def goes_to(self, by: float) -> bool:
        """Whether there is a build where the limit gives way by so much; it is the next of the steps."""
        best = self._best(by)
        if best is not None:
            step = _step(self._limit, best)
            # A strict job may have verified ones below it.
            is_last = math.isnan(step.moved) and self._lists.job.job.strict
            self.found.append(replace(step, is_next=not is_last))
        return best is not None

    def halve(self) -> None:
        """Steps nearer and nearer to what is asked now, by halving what is left of the way; others may lie between."""
        least = 0.0
        for _ in range(HALVINGS):
            if not least < self.moved:  # nothing needs moving, or the check is left unverified
                return
            by = at_most(self._limit.check, (least + self.moved) / 2.0)
            if not least < by < self.moved:
                return
            best = self._best(by)
            if best is None or not best.needs(self._limit) > 0:
                least = by
                continue
            self.found[-1] = replace(self.found[-1], is_next=False)
            self.found.append(_step(self._limit, best))

    def walk(self, most: int) -> None:
        """Each next step down from the last one; where more is allowed than is asked now, no further than to that."""
        is_wider = self.moved > 0
        for _ in range(most):
            if not math.isfinite(self.moved) or not self.goes_to(short_of(self._limit.check, self.moved)):
                return
            if is_wider and self.moved <= 0:
                return
        self.found[-1] = replace(self.found[-1], is_next=False)

    def _best(self, by: float) -> Best | None:
        """The best build where the limit gives way by so much: where one is known that needs nothing moved, only a
        better one that does is looked for.
        """
        now = self._now
        if now is None:
            return best_build(self._lists, RelaxedLimits(amounts_of({self._limit: by})))
        better = best_that_fail(self._lists, [self._limit], 1, now.key, by)
        return better[0] if better and better[0].key < now.key else now


def _step(limit: Limit, best: Best) -> Step:
    return Step(best.needs(limit), best)
