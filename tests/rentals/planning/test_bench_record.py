import pytest

from rentals.planning.bench_chance import BenchRecord
from rentals.planning.bench_record import BenchStep, bench_history

pytestmark = pytest.mark.any_database

BACK, WANTING, CLEARED, MENDED = BenchStep


def test_only_the_first_round_after_a_return_counts():
    steps = [
        *((1, step) for step in (CLEARED, BACK, CLEARED, BACK, WANTING, CLEARED)),
        *((2, step) for step in (WANTING, BACK, WANTING, WANTING, CLEARED)),
        (3, BACK),
    ]
    assert bench_history(steps).record == BenchRecord(passed=1, failed=2)
    assert bench_history([]).record == BenchRecord()


def test_a_kit_is_wanting_until_it_is_mended_or_cleared():
    steps = [(1, WANTING), (2, WANTING), (2, MENDED), (3, WANTING), (3, CLEARED), (4, BACK)]
    assert bench_history(steps).wanting == {1}


def test_a_part_fitted_before_the_bench_does_not_end_the_round():
    steps = [(1, step) for step in (BACK, MENDED, CLEARED)]
    assert bench_history(steps).record == BenchRecord(passed=1)
