import pytest

from rentals.planning.bench_chance import BenchRecord
from rentals.planning.bench_record import BenchStep, count_first_rounds

pytestmark = pytest.mark.any_database

BACK, WANTING, CLEARED = BenchStep


def test_only_the_first_round_after_a_return_counts():
    steps = [
        *((1, step) for step in (CLEARED, BACK, CLEARED, BACK, WANTING, CLEARED)),
        *((2, step) for step in (WANTING, BACK, WANTING, WANTING, CLEARED)),
        (3, BACK),
    ]
    assert count_first_rounds(steps) == BenchRecord(passed=1, failed=2)
    assert count_first_rounds([]) == BenchRecord()
