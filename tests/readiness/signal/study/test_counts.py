"""The power of the best noise test."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import chi2

from readiness.signal.study.counts import noise_power


def test_power_at_the_limit_is_the_level_and_grows_from_there() -> None:
    at_limit = noise_power(1.0, 7792)
    assert (at_limit.fails, at_limit.not_passed) == pytest.approx((0.05, 0.95))
    above = noise_power(1.02, 7792)
    assert above.fails == pytest.approx(chi2.sf(chi2.isf(0.05, 7792) / 1.02**2, 7792), abs=1e-9)
    assert above.not_passed > above.fails > 0.5
    # Monte Carlo, 4,000 draws: standard error below 0.8 %.
    drawn = 1.01**2 * np.random.default_rng(1).chisquare(7792, 4000)
    assert np.mean(drawn > chi2.isf(0.05, 7792)) == pytest.approx(
        noise_power(1.01, 7792).fails, abs=0.03
    )
