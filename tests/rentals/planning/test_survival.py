"""How long things last, at the edges that printed tables leave out."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from rentals.planning.survival import Lifetime, SurvivalCurve

pytestmark = pytest.mark.any_database

LIVES = st.lists(
    st.builds(Lifetime, st.integers(0, 30).map(float), st.booleans()), min_size=1, max_size=25
)


def test_where_nothing_ended_all_last_and_the_bound_says_how_few_were_seen():
    curve = SurvivalCurve([Lifetime(10, ended=False)] * 20)
    assert curve.share(10) == 1
    low, high = curve.interval(10)
    assert (low, high) == (pytest.approx(0.025 ** (1 / 20)), 1)
    assert curve.interval(11)[0] == 0
    assert curve.quantile(0.5) is None
    assert curve.mean_life().mean == 10


def test_where_all_ended_at_once_nothing_lasts():
    curve = SurvivalCurve([Lifetime(3)] * 4)
    assert curve.share(2.9) == 1
    assert curve.share(3) == 0
    assert curve.interval(3) == (0, pytest.approx(1 - 0.025 ** (1 / 4)))
    assert curve.share_beyond(3, 1) == 0
    assert curve.mean_life(until=10).mean == 3


def test_the_share_beyond_asks_only_those_that_got_so_far():
    curve = SurvivalCurve([Lifetime(1), Lifetime(2), Lifetime(3), Lifetime(4)])
    assert curve.share_beyond(2, 1) == pytest.approx(0.5)
    assert curve.mean_life(until=2.5).mean == pytest.approx(0.25 * 1 + 0.75 * 2.5 - 0.25 * 0.5)


def test_no_lifetimes_and_times_below_zero_are_refused():
    with pytest.raises(ValueError, match="at least one"):
        SurvivalCurve([])
    with pytest.raises(ValueError, match="below zero"):
        SurvivalCurve([Lifetime(-1)])


@settings(max_examples=50, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(LIVES)
def test_the_share_never_rises_and_lies_in_its_interval(lives):
    curve = SurvivalCurve(lives)
    before = 1.0
    for time in range(31):
        share = curve.share(time)
        low, high = curve.interval(time)
        assert 0 <= low <= share + 1e-12
        assert share <= high + 1e-12 <= 1 + 1e-9
        assert share <= before + 1e-12
        before = share
    assert curve.mean_life().mean <= curve.seen_until
