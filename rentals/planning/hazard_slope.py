"""Whether a number that goes with things (a group, a date) changes how long they last, where some
have not ended yet. Pure.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

NEWTON_STEPS = 6
STEEPEST = 3.0
"""Where groups never overlap the estimate has no end: it stops at a factor of twenty."""


@dataclass(frozen=True)
class HazardSlope:
    """How ends go with a number: by e to the `slope` more often for each unit of it."""

    slope: float
    error: float
    chi_square: float
    """Of the score test at no slope, on one degree of freedom; the log-rank test for two groups."""


def hazard_slope(
    times: Sequence[float],
    ended: Sequence[bool],
    number: Sequence[float],
    kinds: Sequence[int] | None = None,
) -> HazardSlope:
    """Test and estimate of one proportional effect on how often things end.

    With two groups as the number the test is the log-rank test with the variance of drawing
    without replacement, which is right for ties too. The estimate is that of Cox's model, by
    Newton's steps from nothing. With `kinds`, things are compared within their own kind only.
    """
    columns = (np.asarray(times, float), np.asarray(ended, bool), np.asarray(number, float))
    kind = np.zeros(len(columns[0]), int) if kinds is None else np.asarray(kinds, int)
    parts = [tuple(column[kind == each] for column in columns) for each in np.unique(kind)]

    def sums(slope: float) -> tuple[float, float, float]:
        each = np.array([_score(times, over, x, slope) for times, over, x in parts]).reshape(-1, 3)
        score, exact, information = each.sum(axis=0)
        return float(score), float(exact), float(information)

    score, exact, _ = sums(0.0)
    if exact <= 0:
        return HazardSlope(0.0, math.inf, 0.0)
    slope, information = 0.0, exact
    for _ in range(NEWTON_STEPS):
        step, _, information = sums(slope)
        if information <= 0:
            break
        slope = float(np.clip(slope + np.clip(step / information, -1, 1), -STEEPEST, STEEPEST))
    error = 1 / math.sqrt(max(information, 1e-12))
    return HazardSlope(slope, error, score * score / exact)


def _score(
    times: np.ndarray, over: np.ndarray, x: np.ndarray, slope: float
) -> tuple[float, float, float]:
    """Score, its variance for ties, and the information of Cox's model, at a slope."""
    order = np.argsort(-times, kind="stable")
    times, over, x = times[order], over[order], x[order]
    weight = np.exp(slope * x)
    ones, sums, squares = (np.cumsum(part) for part in (weight, weight * x, weight * x * x))
    ends = np.unique(times[over])
    last = np.searchsorted(-times, -ends, side="right") - 1
    mean = sums[last] / ones[last]
    spread = np.maximum(squares[last] / ones[last] - mean * mean, 0)
    place = np.searchsorted(ends, times[over])
    deaths = np.bincount(place, minlength=len(ends))
    at_risk = last + 1
    ties = np.where(at_risk > 1, (at_risk - deaths) / np.maximum(at_risk - 1, 1), 0)
    score = float(np.sum(x[over] - mean[place]))
    return score, float(np.sum(deaths * spread * ties)), float(np.sum(deaths * spread))
