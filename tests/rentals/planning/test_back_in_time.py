from datetime import date, timedelta

import pytest

from rentals.planning.back_in_time import bench_only, last_day_back
from rentals.planning.calendar import Turnaround, free_again
from rentals.planning.workdays import Workdays

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize("days", range(14))
def test_it_is_the_last_day_from_which_the_kit_is_free_again_in_time(days):
    post_by, workdays = date(2027, 3, 22) + timedelta(days=days), Workdays("DE")
    day = last_day_back(post_by, Turnaround(), workdays)
    assert free_again(day, Turnaround(), workdays).day <= post_by
    assert free_again(day + timedelta(days=1), Turnaround(), workdays).day > post_by


def test_a_checked_kit_has_the_bench_before_it():
    assert bench_only(Turnaround(check=2, clean=1, charge=1, bench=3)).days == 3
