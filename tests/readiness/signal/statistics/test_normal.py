"""Chances and deviates of the normal distribution against SciPy, far out too."""

from __future__ import annotations

import pytest
from scipy import stats

from readiness.signal.statistics.normal import deviate_above, normal_below


@pytest.mark.parametrize("z", [-30.0, -9.0, -5.9, -1.0, 0.0, 1.645, 6.0])
def test_the_chance_below_is_exact_far_out(z):
    assert normal_below(z) == pytest.approx(stats.norm.cdf(z), rel=1e-12)


@pytest.mark.parametrize("tail", [1e-12, 2.4e-9, 0.025, 0.5, 0.9])
def test_the_deviate_of_a_tail_is_passed_with_that_chance(tail):
    assert deviate_above(tail) == pytest.approx(stats.norm.isf(tail), rel=1e-12, abs=1e-15)
    assert normal_below(-deviate_above(tail)) == pytest.approx(tail, rel=1e-12)
