from datetime import date, timedelta

import numpy as np
import pytest

from rentals.planning.lateness import PastLoan
from rentals.planning.lateness_law import learn_lateness

pytestmark = pytest.mark.any_database

TODAY = date(2027, 6, 7)


def past(late, run=1, months_ago=4, **facts):
    due = TODAY - timedelta(days=30 * months_ago)
    return PastLoan(run, due - timedelta(days=60), due, due + timedelta(days=late), **facts)


def out(days_late=0, run=99, **facts):
    due = TODAY - timedelta(days=days_late)
    return PastLoan(run, due - timedelta(days=60), due, **facts)


def learn(loans, draws=600, seed=1):
    return learn_lateness(loans, TODAY, np.random.default_rng(seed), draws)


def chance(law, loan, days):
    return law.back_by(loan, TODAY + timedelta(days=days)).mean()


def many(lates, runs=20, **facts):
    return [past(late, run, 3 + run % 7, **facts) for run in range(runs) for late in lates]


def test_without_a_past_the_usual_curve_speaks():
    law = learn([])
    assert chance(law, out(-21), 21) == pytest.approx(0.58, abs=0.06)
    assert chance(law, out(-21), 28) == pytest.approx(0.87, abs=0.05)


def test_many_loans_speak_for_themselves():
    law = learn(many([-3, -1, 0, 2, 5]))
    assert chance(law, out(-21), 21) == pytest.approx(0.6, abs=0.05)
    assert chance(law, out(-21), 26) == pytest.approx(0.98, abs=0.03)


def test_a_kit_that_is_late_already_is_judged_among_those_that_were_as_late():
    """Of those that were not back after a day, two in three came on the second or fifth day."""
    law = learn(many([0, 0, 0, 2, 5, 30]))
    assert chance(law, out(1), 5) == pytest.approx(2 / 3, abs=0.09)
    assert chance(law, out(8), 5) < 0.2


def test_a_day_that_is_past_and_a_kit_beyond_the_axis_have_no_chance():
    law = learn(many([0, 2]))
    assert chance(law, out(3), -1) == 0
    assert chance(law, out(300), 20) == 0


def test_written_off_kits_stay_away():
    law = learn(many([0, 1]) + many([45, 45], lost=True))
    assert chance(law, out(5), 60) < 0.1
    assert chance(law, out(-10), 80) == pytest.approx(0.5, abs=0.06)


def test_a_destination_has_its_own_curve_once_it_has_loans():
    home = many([-1, 0, 1])
    law = learn(home + many([9, 10], abroad=True))
    assert chance(law, out(0), 3) > 0.85
    assert chance(law, out(0, abroad=True), 3) < 0.35
    alone = learn(home)
    assert chance(alone, out(0, abroad=True), 3) == pytest.approx(
        chance(alone, out(0), 3), abs=0.06
    )


def test_kits_of_a_run_that_is_slow_are_expected_later():
    shared = [
        past(late + shift, run)
        for run, shift in enumerate([-6, -4, -2, 0, 0, 2, 4, 8] * 2)
        for late in (-2, -1, 0, 1, 2)
    ]
    due = TODAY
    quick = [PastLoan(50, due - timedelta(60), due, TODAY - timedelta(days=5)) for _ in range(6)]
    law = learn(shared + quick + [out(0, run=50), out(0, run=51)])
    both = [law.back_by(out(0, run=run), TODAY + timedelta(days=3)) for run in (50, 51)]
    assert both[0].mean() > both[1].mean() + 0.03


def test_a_kit_that_was_posted_is_judged_by_the_way_of_parcels():
    posted = TODAY - timedelta(days=2)
    law = learn([*many([0, 2]), out(20, sent_back_on=posted), out(20, run=98)])
    assert chance(law, out(20), 4) < 0.3
    assert chance(law, out(20, sent_back_on=posted), 4) == pytest.approx(0.8, abs=0.1)
    slow = [past(7, run, sent_back_on=TODAY - timedelta(days=122)) for run in range(30)]
    slower = learn([*slow, out(20, sent_back_on=posted)])
    assert chance(slower, out(20, sent_back_on=posted), 4) < 0.35


def test_more_loans_leave_less_open():
    few, lots = learn([past(0), past(3, 2)]), learn(many([0, 3], 60))
    assert few.back_by(out(-10), TODAY + timedelta(11)).std() > 0.1
    assert lots.back_by(out(-10), TODAY + timedelta(11)).std() < 0.12


def test_a_clear_trend_is_carried_to_today():
    loans = [
        past(2 * step + late, step, 12 * (8 - step) // 2)
        for step in range(8)
        for late in (-3, -1, 0, 1, 3) * 3
    ]
    law = learn(loans)
    assert law.trend.is_clear
    steady = learn(
        [
            past((2 * s + late), 10 * k + s, 12)
            for k in range(2)
            for s in range(8)
            for late in (-3, -1, 0, 1, 3)
        ]
    )
    assert chance(law, out(-5), 15) < chance(steady, out(-5), 15) - 0.1
