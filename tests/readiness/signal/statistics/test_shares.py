"""Shares and their exact intervals."""

from __future__ import annotations

import json

import pytest
from scipy.stats import binomtest

from readiness.signal.statistics.shares import Share, clopper_pearson, share
from readiness.signal.study.tally import plain

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize(("hits", "total"), [(0, 100), (1, 300), (7, 20), (50, 50)])
def test_binomial_interval_is_clopper_and_pearsons(hits: int, total: int) -> None:
    expected = binomtest(hits, total).proportion_ci(0.95, method="exact")
    assert clopper_pearson(hits, total) == pytest.approx((expected.low, expected.high), abs=1e-9)


def test_no_hit_in_a_hundred_leaves_up_to_3_6_percent_open() -> None:
    assert clopper_pearson(0, 100)[1] == pytest.approx(1 - 0.025**0.01)  # closed form for no hit
    assert clopper_pearson(0, 0) == (0.0, 1.0)
    with pytest.raises(ValueError, match="5 hits of 4"):
        clopper_pearson(5, 4)


def test_shares_show_hits_interval_and_total() -> None:
    assert str(share([True, False])) == " 50.0 % [1.3, 98.7] of 2"
    assert str(Share(0, 0)) == "-"
    figures = json.loads(json.dumps(plain({"a": [Share(0, 0), {"b": Share(2, 2)}]})))
    assert figures["a"][1]["b"]["hits"] == 2
