from datetime import date, timedelta

import numpy as np
import pytest

from rentals.planning.lateness import PastLoan, loan_table
from rentals.planning.lateness_trend import NO_TREND, measured_trend, shared_trend

pytestmark = pytest.mark.any_database

FIRST = date(2024, 1, 8)


def loans_of(runs, later_each_run, seed=3):
    rng = np.random.default_rng(seed)
    for run in range(runs):
        due = FIRST + timedelta(days=90 * run)
        for _ in range(10):
            late = round(rng.normal(later_each_run * run, 4))
            yield PastLoan(run, due - timedelta(days=70), due, due + timedelta(days=late))


def table_of(runs, later_each_run):
    return loan_table(list(loans_of(runs, later_each_run)), date(2030, 1, 1))


def test_later_returns_are_a_clear_trend_and_steady_ones_are_not():
    clear = measured_trend(table_of(8, 1.5))
    assert clear.is_clear
    assert clear.slope < -0.8
    assert not measured_trend(table_of(8, 0)).is_clear


def test_loans_that_depend_on_each_other_say_less_of_a_trend():
    found = measured_trend(table_of(8, 1.5))
    shared = shared_trend(found, 6.0)
    assert abs(shared.slope) < abs(found.slope)
    assert shared.spread > found.spread
    assert shared.chi_square == pytest.approx(found.chi_square / 6)


def test_few_runs_show_no_trend():
    assert measured_trend(table_of(2, 4)) is NO_TREND
    assert shared_trend(NO_TREND, 2.0) is NO_TREND
