"""How long things last when some have not ended yet: the product-limit estimate of Kaplan and
Meier (J. Am. Stat. Assoc. 53, 1958), its error after Greenwood (1926), intervals on the scale of
log(-log S) (Kalbfleisch and Prentice). Times are in any one unit, days or loans alike.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby
from math import exp, inf, log, sqrt
from statistics import NormalDist

CONFIDENCE = 0.95
"""Share of two-sided intervals that hold the truth, where nobody names another."""


@dataclass(frozen=True)
class Lifetime:
    """How long something lasted; `ended` is False where it was still going on when last seen."""

    time: float
    ended: bool = True


@dataclass(frozen=True)
class SurvivalStep:
    """One time at which something ended: how many were at risk just before it, how many ended, and
    the share that outlasts it with its standard error.
    """

    time: float
    at_risk: int
    ended: int
    share: float
    error: float


@dataclass(frozen=True)
class MeanLife:
    """The mean time lived up to `until`, with its standard error and interval."""

    until: float
    mean: float
    error: float
    low: float
    high: float


class SurvivalCurve:
    """The share that outlasts each time, from lifetimes of which some are censored.

    Something censored at the time at which another ended counts as at risk then.
    """

    def __init__(self, lifetimes: Iterable[Lifetime]) -> None:
        """Raise ValueError for a time below zero or for no lifetimes at all."""
        self.lifetimes = tuple(sorted(lifetimes, key=lambda life: life.time))
        if not self.lifetimes:
            raise ValueError("A survival curve needs at least one lifetime.")
        if self.lifetimes[0].time < 0:
            raise ValueError(f"A lifetime cannot be below zero, as {self.lifetimes[0].time} is.")
        self.steps = tuple(_steps_of(self.lifetimes))
        self._times = [step.time for step in self.steps]

    @property
    def ended(self) -> int:
        """How many ended."""
        return sum(step.ended for step in self.steps)

    @property
    def seen_until(self) -> float:
        """The longest time that anything was watched."""
        return self.lifetimes[-1].time

    def at_risk(self, time: float) -> int:
        """How many were watched until this time or longer."""
        return sum(life.time >= time for life in self.lifetimes)

    def share(self, time: float) -> float:
        """The share that outlasts a time."""
        place = bisect_right(self._times, time)
        return self.steps[place - 1].share if place else 1.0

    def share_beyond(self, time: float, longer: float) -> float:
        """The share that outlasts `longer` more, of those that have outlasted `time` already; 0
        where nothing outlasts it.
        """
        reached = self.share(time)
        return self.share(time + longer) / reached if reached else 0.0

    def interval(self, time: float, confidence: float = CONFIDENCE) -> tuple[float, float]:
        """Lower and upper bound of the share that outlasts a time.

        Where nothing has ended yet, the lower bound is that of so many successes in a row (exact,
        Clopper and Pearson). Where all have ended, the upper bound is that of the step before.
        """
        place = bisect_right(self._times, time)
        if not place:
            return self._none_ended(time, confidence), 1.0
        step = self.steps[place - 1]
        if step.share > 0:
            return _log_log_interval(step, confidence)
        if place == 1:
            return 0.0, 1.0 - ((1 - confidence) / 2) ** (1 / step.ended)
        return 0.0, _log_log_interval(self.steps[place - 2], confidence)[1]

    def quantile(self, ended: float) -> float | None:
        """The first time at which this share or more has ended; None where it is not reached."""
        tolerance = 1e-12
        for step in self.steps:
            if step.share <= 1 - ended + tolerance:
                return step.time
        return None

    def mean_life(self, until: float | None = None, confidence: float = CONFIDENCE) -> MeanLife:
        """The mean time lived up to a time: the area under the curve (restricted mean), with
        Greenwood's error of that area. Without `until`, and at most, up to the longest time
        watched: nothing is known beyond it.
        """
        until = self.seen_until if until is None else min(until, self.seen_until)
        areas = self._areas_after(until)
        spread = (
            area**2 * step.ended / (step.at_risk * (step.at_risk - step.ended))
            for step, area in zip(self.steps, areas[1:], strict=False)
            if step.at_risk > step.ended and step.time < until
        )
        mean, error = areas[0], sqrt(sum(spread))
        reach = _z(confidence) * error
        return MeanLife(until, mean, error, max(mean - reach, 0.0), min(mean + reach, until))

    def _areas_after(self, until: float) -> list[float]:
        """The area under the curve from 0, and from each step, up to a time."""
        starts = [0.0, *(min(time, until) for time in self._times)]
        heights = [1.0, *(step.share for step in self.steps)]
        areas = [0.0] * (len(starts) + 1)
        ends = [*starts[1:], until]
        for place in range(len(starts) - 1, -1, -1):
            width = ends[place] - starts[place]
            areas[place] = areas[place + 1] + heights[place] * width
        return areas[:-1]

    def _none_ended(self, time: float, confidence: float) -> float:
        watched = self.at_risk(time)
        return ((1 - confidence) / 2) ** (1 / watched) if watched else 0.0


def _steps_of(lifetimes: tuple[Lifetime, ...]) -> Iterable[SurvivalStep]:
    at_risk, share, spread = len(lifetimes), 1.0, 0.0
    for time, group in groupby(lifetimes, key=lambda life: life.time):
        same_time = list(group)
        ended = sum(life.ended for life in same_time)
        if ended:
            share *= 1 - ended / at_risk
            left = at_risk - ended
            spread = spread + ended / (at_risk * left) if left else inf
            error = share * sqrt(spread) if left else 0.0
            yield SurvivalStep(time, at_risk, ended, share, error)
        at_risk -= len(same_time)


def _log_log_interval(step: SurvivalStep, confidence: float) -> tuple[float, float]:
    error = step.error / (step.share * abs(log(step.share)))
    factor = exp(_z(confidence) * error)
    return step.share**factor, step.share ** (1 / factor)


def _z(confidence: float) -> float:
    return NormalDist().inv_cdf((1 + confidence) / 2)
