"""Shares, their exact intervals, and the power of the best noise test."""

from __future__ import annotations

import json

import numpy as np
import pytest
from scipy.stats import binomtest, chi2

from readiness.signal.study.counts import Share, clopper_pearson, noise_power, share
from readiness.signal.study.tally import plain


@pytest.mark.parametrize(("hits", "total"), [(0, 100), (1, 300), (7, 20), (50, 50)])
def test_binomial_interval_is_clopper_and_pearsons(hits: int, total: int) -> None:
    expected = binomtest(hits, total).proportion_ci(0.95, method="exact")
    assert clopper_pearson(hits, total) == pytest.approx((expected.low, expected.high), abs=1e-9)


def test_no_hit_in_a_hundred_leaves_up_to_3_6_percent_open() -> None:
    assert clopper_pearson(0, 100)[1] == pytest.approx(1 - 0.025**0.01)  # closed form for no hit
    assert clopper_pearson(0, 0) == (0.0, 1.0)
    with pytest.raises(ValueError, match="5 hits of 4"):
        clopper_pearson(5, 4)


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


def test_shares_show_hits_interval_and_total() -> None:
    assert str(share([True, False])) == " 50.0 % [1.3, 98.7] of 2"
    assert str(Share(0, 0)) == "-"
    figures = json.loads(json.dumps(plain({"a": [Share(0, 0), {"b": Share(2, 2)}]})))
    assert figures["a"][1]["b"]["hits"] == 2
