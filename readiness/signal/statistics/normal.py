"""The standard normal distribution: the chance below a deviate, and the deviate of a chance."""

from __future__ import annotations

import math
from functools import lru_cache
from statistics import NormalDist

_STANDARD = NormalDist()


def normal_below(z: float) -> float:
    """Probability that a standard normal value lies below ``z``, exact far out in both tails.

    ``NormalDist.cdf`` is one minus an error function up to Python 3.12: beyond eight deviates it
    gives nought, and the chance of a peak would be that of a miracle.
    """
    return 0.5 * math.erfc(-z / math.sqrt(2))


@lru_cache(maxsize=64)
def deviate_above(tail: float) -> float:
    """The deviate that a standard normal value passes with probability ``tail``, above 0 and below
    1.
    """
    return -_STANDARD.inv_cdf(tail)
