"""Rows that were there before the log, or before one of their columns."""

import pytest

from rentals.models import LogHead, LogLine
from rentals.seals.opening import open_after_migrating
from rentals.seals.tables import sealed_table
from rentals.verify import verify
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db


def test_rows_of_before_are_held_once_and_a_table_anew_when_its_columns_change():
    loan = packed_loan()
    LogLine.objects.all().delete()
    LogHead.objects.all().delete()
    open_after_migrating("default")
    assert verify() == []
    lines = LogLine.objects.count()
    open_after_migrating("default")
    assert LogLine.objects.count() == lines
    type(loan).objects.filter(pk=loan.pk).update(carrier="by hand")
    assert verify() == [f"Loan {loan.pk} is not as the log has it."]
    table = sealed_table(type(loan))
    object.__setattr__(table, "columns", tuple(c for c in table.columns if c != "carrier"))
    try:
        open_after_migrating("default")
        assert LogLine.objects.count() == lines + 2
        assert verify() == []
    finally:
        object.__setattr__(table, "columns", tuple(sorted((*table.columns, "carrier"))))
