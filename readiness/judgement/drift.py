"""A part's figures over its returns: control limits, slope, when a limit will be met, and the
warning that says so. Pure; no Django, draws nothing.

Individuals chart and EWMA after the NIST/SEMATECH e-Handbook 6.3.2; Theil-Sen slope with the
Mann-Kendall test after EPA QA/G-9S (2006). A warning needs both: a slope that is not chance, and a
limit that lies ahead.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from readiness.signal.statistics.normal import deviate_above, normal_below
from rentals.dates import short_date

D2_OF_TWO = 2 / math.sqrt(math.pi)
"""Mean range of two normal values in sigmas: 1.128379."""
EWMA_WEIGHT = 0.3
SIGMAS = 3.0
FEWEST = 5
"""Fewer returns say nothing of a trend: below five the Mann-Kendall test cannot reach 5 %, at five
it gives 0.027.
"""
CHANCE = 0.05
HORIZON_DAYS = 365
"""A limit that is further off is no reason to act in this course year (common practice, no
published source).
"""
FAR_DAYS = 3650


@dataclass(frozen=True)
class PartSeries:
    """One quantity of one part: bench days, oldest first, with a value each, and the limit it is
    judged against, an upper one where ``rising``.
    """

    part_code: str
    title: str
    unit: str
    days: list[date]
    values: list[float]
    limit: float
    rising: bool

    @property
    def elapsed(self) -> list[int]:
        """Days from the first bench day."""
        return [(day - self.days[0]).days for day in self.days]


@dataclass(frozen=True)
class ControlLimits:
    """Centre, limits and estimated sigma of a control chart, and the positions of points
    outside.
    """

    centre: float
    lower: float
    upper: float
    sigma: float
    out: tuple[int, ...]


@dataclass(frozen=True)
class Smooth:
    """An EWMA: its values, one a point, and its limits for a long series."""

    values: tuple[float, ...]
    lower: float
    upper: float
    out: tuple[int, ...]


@dataclass(frozen=True)
class Kendall:
    """Mann-Kendall test: S, its variance with ties, the continuity-corrected Z and the two-sided
    chance.
    """

    s: int
    variance: float
    z: float
    chance: float


@dataclass(frozen=True)
class Slope:
    """Theil-Sen line: median slope, intercept, and the interval of the slope."""

    slope: float
    intercept: float
    low: float
    high: float


@dataclass(frozen=True)
class Forecast:
    """When a limit will be met, from the last point: due, earliest, latest (``None`` where it may
    never be).
    """

    due: float
    earliest: float
    latest: float | None
    slope: Slope
    kendall: Kendall


def individuals(values: Sequence[float], baseline: int | None = None) -> ControlLimits:
    """Individuals chart: mean +- 3 mean moving range / 1.128 (NIST 6.3.2.2).

    Parameters
    ----------
    values : sequence of float
        At least two, in order of time.
    baseline : int or None
        How many of the first values set centre and limits; all where ``None``.

    Raises
    ------
    ValueError
        For fewer than two values.
    """
    data = _series(values, 2)
    base = data[: baseline or len(data)]
    sigma = float(np.mean(np.abs(np.diff(base)))) / D2_OF_TWO
    centre = float(base.mean())
    lower, upper = centre - SIGMAS * sigma, centre + SIGMAS * sigma
    return ControlLimits(centre, lower, upper, sigma, _outside(data, lower, upper))


def ewma(
    values: Sequence[float], start: float, sigma: float, weight: float = EWMA_WEIGHT
) -> Smooth:
    """Exponentially weighted moving average, its first value ``start`` (NIST 6.3.2.4).

    Returns one value more than there are points: the start, then one for each.
    """
    smooth = [start]
    for value in _series(values, 1):
        smooth.append(weight * float(value) + (1 - weight) * smooth[-1])
    reach = SIGMAS * sigma * math.sqrt(weight / (2 - weight))
    return Smooth(
        tuple(smooth),
        start - reach,
        start + reach,
        tuple(i - 1 for i in _outside(np.array(smooth), start - reach, start + reach)),
    )


def mann_kendall(values: Sequence[float] | np.ndarray) -> Kendall:
    """Mann-Kendall trend test with ties and continuity correction (EPA QA/G-9S)."""
    data = _series(values, 2)
    later, earlier = np.triu_indices(len(data), 1)[::-1]
    s = int(np.sum(np.sign(data[later] - data[earlier])))
    n = len(data)
    ties = np.unique(data, return_counts=True)[1]
    variance = (n * (n - 1) * (2 * n + 5) - float(np.sum(ties * (ties - 1) * (2 * ties + 5)))) / 18
    z = 0.0 if not s or variance <= 0 else (s - math.copysign(1, s)) / math.sqrt(variance)
    return Kendall(s, variance, z, 2 * normal_below(-abs(z)))


def theil_sen(times: Sequence[float], values: Sequence[float], confidence: float = 0.95) -> Slope:
    """Median of all pair slopes with a rank interval (Theil 1950, Sen 1968); pairs at the same time
    are left out.
    """
    x, y = _series(times, 2), _series(values, 2)
    if len(x) != len(y):
        raise ValueError(f"{len(x)} times and {len(y)} values do not pair up")
    first, second = np.triu_indices(len(x), 1)
    apart = x[second] != x[first]
    slopes = np.sort((y[second] - y[first])[apart] / (x[second] - x[first])[apart])
    if not len(slopes):
        raise ValueError("all times are the same: there is no slope")
    slope = float(np.median(slopes))
    reach = deviate_above((1 - confidence) / 2) * math.sqrt(mann_kendall(y).variance)
    count = len(slopes)
    low = slopes[max(0, min(count - 1, round((count - reach) / 2) - 1))]
    high = slopes[max(0, min(count - 1, round((count + reach) / 2)))]
    return Slope(slope, float(np.median(y) - slope * np.median(x)), float(low), float(high))


def forecast(
    times: Sequence[float], values: Sequence[float], limit: float, *, rising: bool = True
) -> Forecast | None:
    """When a drifting figure meets its limit, with an interval; ``None`` where no drift towards it
    is proven.

    Parameters
    ----------
    times, values : sequence of float
        In order of time, any unit of time; the answer is in that unit from the last one.
    limit : float
        Upper limit where ``rising``, else lower limit.

    Notes
    -----
    The line goes through the medians with the Theil-Sen slope; the interval takes its level at the
    last time with each end of the slope's interval. A limit already passed is due now.
    """
    if len(values) < FEWEST:
        return None
    kendall = mann_kendall(values)
    slope = theil_sen(times, values)
    towards = slope.slope if rising else -slope.slope
    if kendall.chance > CHANCE or towards <= 0:
        return None
    level = slope.intercept + slope.slope * float(times[-1])
    room = max(0.0, limit - level if rising else level - limit)
    steep, flat = (slope.high, slope.low) if rising else (-slope.low, -slope.high)
    return Forecast(
        room / towards,
        room / max(steep, towards),
        room / flat if flat > 0 else None,
        slope,
        kendall,
    )


def drift_warning(series: PartSeries) -> str:
    """Names the part and when its limit will be met, with an interval; empty where no drift is
    proven, or none that matters within a year.
    """
    if series.elapsed[-1] == 0:
        return ""
    meeting = forecast(series.elapsed, series.values, series.limit, rising=series.rising)
    if meeting is None or meeting.earliest > HORIZON_DAYS:
        return ""
    last = series.days[-1]
    due, earliest = _day_after(last, meeting.due), _day_after(last, meeting.earliest)
    span = f"{earliest} at the earliest, or never, if the drift ends"
    if meeting.latest is not None:
        latest = _day_after(last, meeting.latest)
        span = f"{earliest} at the earliest, {latest} at the latest"
    met = f"it meets {series.limit:.2f} {series.unit} about {due} ({span})"
    return f"{series.title} of {series.part_code} drifts: {met}."


def _day_after(last: date, days: float) -> str:
    return short_date(last + timedelta(days=round(min(days, FAR_DAYS))))


def _series(values: Sequence[float] | np.ndarray, least: int) -> np.ndarray:
    data = np.asarray(values, dtype=float)
    if data.ndim != 1 or len(data) < least:
        raise ValueError(f"a series of at least {least} values is needed, got shape {data.shape}")
    if not np.isfinite(data).all():
        raise ValueError("a series holds a value that is not finite")
    return data


def _outside(data: np.ndarray, lower: float, upper: float) -> tuple[int, ...]:
    return tuple(np.flatnonzero((data < lower) | (data > upper)).tolist())
