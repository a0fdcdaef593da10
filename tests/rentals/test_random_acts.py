"""Whatever is done at the desk, in whatever order: no part in two places or nowhere, stock and
money add up, the log is whole, and whoever was erased stands nowhere.

All of 5,000 sequences: ``python3 -m tests.rentals.random_acts``.
"""

import os

import pytest
from django.db import transaction

from tests.hour import most
from tests.rentals.random_acts import LENGTH, run_one
from tests.rentals.random_desk import small_desk

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]


def broken(seeds: range, length: int, every: int) -> list[list[str]]:
    small_desk()
    found = []
    for seed in seeds:
        with transaction.atomic():
            found.append(run_one(seed, length, every))
            transaction.set_rollback(True)
    return [faults for faults in found if faults]


def test_short_sequences_leave_everything_in_its_place():
    assert broken(range(most(6, 12)), length=3, every=3) == []


@pytest.mark.night
def test_long_sequences_leave_everything_in_its_place():
    first = int(os.environ.get("KITDESK_FIRST_SEED", "1000"))
    count = int(os.environ.get("KITDESK_SEQUENCES", "40"))
    assert broken(range(first, first + count), length=LENGTH, every=1) == []
