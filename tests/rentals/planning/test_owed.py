"""Sums by age, debtor and currency."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from rentals.planning.owed import BUCKETS, OWES, Debt, Debtor, aged, bucket_of

pytestmark = pytest.mark.any_database

TODAY = date(2027, 3, 1)


def debt(days: int, amount: str, debtor: Debtor = Debtor.STUDENT, currency: str = "EUR") -> Debt:
    return Debt(1, debtor, Decimal(amount), currency, TODAY - timedelta(days=days), "charges")


@pytest.mark.parametrize(
    ("days", "bucket"), [(0, 0), (30, 0), (31, 1), (60, 1), (61, 2), (90, 2), (91, 3), (900, 3)]
)
def test_an_age_falls_into_one_bucket(days, bucket):
    assert bucket_of(days) == bucket
    assert len(BUCKETS) == 4


def test_sums_are_kept_apart_by_debtor_and_currency_and_add_up():
    found = [
        debt(0, "10"),
        debt(45, "5.50"),
        debt(100, "1", currency="CHF"),
        debt(31, "7", Debtor.CARRIER),
        debt(-3, "2", Debtor.PRACTICE),
    ]
    sums = aged(found, TODAY)
    assert [(row.words, row.currency, row.total) for row in sums] == [
        (OWES[Debtor.STUDENT], "CHF", 1),
        (OWES[Debtor.STUDENT], "EUR", Decimal("15.50")),
        (OWES[Debtor.PRACTICE], "EUR", 2),
        (OWES[Debtor.CARRIER], "EUR", 7),
    ]
    assert sums[1].by_bucket == (10, Decimal("5.50"), 0, 0)
    assert sums[2].by_bucket == (2, 0, 0, 0)
