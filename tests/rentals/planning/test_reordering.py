"""Use a day, as runs make it: what is seen and what chance alone makes."""

from datetime import date, timedelta
from math import sqrt

import pytest

from rentals.planning.reordering import (
    LONE_RUN_DAYS,
    NO_USE,
    LeadTime,
    RunUse,
    UseRate,
    reserve_for,
    safety_stock,
    use_rate,
)

pytestmark = pytest.mark.any_database

DAY = date(2027, 1, 4)


def runs(*pieces, every=50, lost=1.0):
    return [
        RunUse(DAY + timedelta(days=every * place), sent, sent * lost)
        for place, sent in enumerate(pieces)
    ]


def test_without_runs_nothing_is_used():
    assert use_rate([], [], 24) == NO_USE


def test_the_mean_is_over_past_and_planned_runs_and_the_gap_lies_between_them():
    past, planned = runs(100, 140), [RunUse(DAY + timedelta(days=100), 120, 120)]
    rate = use_rate(past, planned, 1)
    assert (rate.gap, rate.mean, rate.a_run) == (50, 120 / 50, 120)


def test_one_run_alone_is_taken_for_one_in_half_a_year():
    rate = use_rate([], runs(91), 1)
    assert (rate.gap, rate.mean) == (LONE_RUN_DAYS, 91 / LONE_RUN_DAYS)


def test_chance_spreads_parcels_until_past_runs_say_better():
    alone = use_rate([], runs(240, 240), 24)
    assert alone.spread == pytest.approx(sqrt(240 * 24 / 50))
    even = use_rate(runs(*[240] * 20), [], 24)
    assert even.spread == pytest.approx(alone.spread * sqrt(2 / 21))
    uneven = use_rate(runs(*[120, 360] * 10), [], 24)
    assert uneven.spread > alone.spread


def test_runs_posted_on_one_day_are_one():
    assert use_rate([*runs(100, 100), *runs(20, 20)], [], 1) == use_rate(runs(120, 120), [], 1)


def test_what_comes_back_is_not_used_but_counts_as_spread():
    boxes = use_rate(runs(24, 24, lost=0.05), [], 1)
    assert boxes.a_run == pytest.approx(1.2)
    assert boxes.spread == pytest.approx(sqrt(24 * 2 / 3 / 50))


def test_the_reserve_covers_a_whole_run_however_soon_an_order_comes():
    use = UseRate(2.0, 3.0, gap=49.0)
    assert reserve_for(use, LeadTime(4, 2), 0.95**2) == pytest.approx(1.644854 * 3 * 7)
    late = LeadTime(100)
    assert reserve_for(use, late, 0.95**2) == pytest.approx(safety_stock(use, late, 0.95))


def test_an_order_is_here_at_latest_after_whole_days():
    assert LeadTime(7, 2).at_latest_days(0.95) == 11
    assert LeadTime(7).at_latest_days(0.95) == 7
