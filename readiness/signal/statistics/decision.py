"""From a measured value and its uncertainty to a probability, a score and a verdict (JCGM
106:2012).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from .normal import normal_below

FIT, RETEST, NOT_FIT = "fit", "retest", "not fit"

PASS_SCORE = 95.0
FAIL_SCORE = 5.0


def conforms_lower_meter(value: float, half_width: float, u: float, limit: float) -> float:
    """Probability that the true value is at least ``limit`` when the error is rectangular plus
    normal.

    Parameters
    ----------
    value, limit : float
        Reading and limit, same unit.
    half_width : float
        Half-width of the rectangular error, > 0.
    u : float
        Standard deviation of the independent normal error, >= 0.

    Notes
    -----
    The mean of Phi((value + e - limit) / u) over e uniform in +- half_width; the integral of Phi is
    z Phi(z) + phi(z).
    """
    _check_spread(half_width)
    low, high = value - half_width - limit, value + half_width - limit
    if u <= 1e-9 * half_width:
        return min(1.0, max(0.0, high / (high - low)))
    area = _integral_of_normal(high / u) - _integral_of_normal(low / u)
    return min(1.0, max(0.0, area * u / (high - low)))


def conforms_noise(rms: float, dof: float, limit: float) -> float:
    """Probability that a noise floor is at most ``limit`` when its square has ``dof`` chi-square
    degrees of freedom.

    ``dof * rms**2 / true**2`` is chi-square distributed; with nothing known before (prior flat in
    the logarithm) the probability is that of a chi-square value at or above ``dof * rms**2 /
    limit**2``.
    """
    from scipy.special import chdtrc

    _check_spread(limit)
    return float(chdtrc(dof, dof * (rms / limit) ** 2))


def chi_square_factors(dof: float, confidence: float = 0.95) -> tuple[float, float]:
    """Factors on a variance estimate that bound the true variance: ``dof / chi2`` at both tails
    (NIST 1.3.5.8).
    """
    from scipy.special import gammaincinv

    tail = (1 - confidence) / 2
    upper_point = 2 * float(gammaincinv(dof / 2, 1 - tail))
    lower_point = 2 * float(gammaincinv(dof / 2, tail))
    return dof / upper_point, dof / lower_point


def rectangular_u(half_width: float) -> float:
    """Standard uncertainty of a rectangular error (JCGM 100:2008, 4.3.7): half-width over the
    square root of three.
    """
    return half_width / math.sqrt(3)


def combined_u(contributions: Sequence[float]) -> float:
    """Root sum of squares of independent standard uncertainties (JCGM 100:2008, 5.1.2)."""
    return math.sqrt(math.fsum(u * u for u in contributions))


def score_of(probability: float) -> float:
    """A probability as the 0-100 score shown to people, to one decimal."""
    return round(100 * min(1.0, max(0.0, probability)), 1)


def verdict_of(score: float) -> str:
    """``fit`` from 95 up, ``not fit`` from 5 down, ``retest`` between."""
    if score >= PASS_SCORE:
        return FIT
    return NOT_FIT if score <= FAIL_SCORE else RETEST


def _integral_of_normal(z: float) -> float:
    return z * normal_below(z) + math.exp(-z * z / 2) / math.sqrt(2 * math.pi)


def _check_spread(u: float) -> None:
    if not u > 0:
        raise ValueError(f"uncertainty or limit is {u!r}, it must be above zero")
