"""A value that cannot be read is named with its row, and stops nothing."""

from __future__ import annotations

import pytest
from django.db import connection

from readiness.models import BenchPlan
from rentals.models import Event
from rentals.verify import verify
from tests.factories import packed_loan

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]


def test_bytes_that_are_no_text_broken_json_and_words_for_numbers_are_named():
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL takes no such values")
    loan = packed_loan()
    other = packed_loan()
    event, plan = Event.objects.latest("pk"), BenchPlan.objects.get(kit_type=loan.kit.kit_type)
    broken = {
        f"Event {event.pk}": ("rentals_event", "hash", "CAST(X'FFFE' AS TEXT)", event.pk),
        f"Bench plan {plan.pk}": ("readiness_benchplan", "tests", "'[broken'", plan.pk),
        f"Loan {loan.pk}": ("rentals_loan", "deposit", "'plenty'", loan.pk),
    }
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA ignore_check_constraints = ON")
        for table, column, value, row in broken.values():
            cursor.execute(f"UPDATE {table} SET {column} = {value} WHERE id = %s", [row])
        cursor.execute("UPDATE rentals_loan SET due_on = '2001-02-03' WHERE id = %s", [other.pk])
        cursor.execute("UPDATE rentals_kit SET note = 'by hand' WHERE id = %s", [other.kit_id])
        cursor.execute("PRAGMA ignore_check_constraints = OFF")
    faults = verify()
    for row in broken:
        what = "is not as the log has it" if "plan" in row else "holds a value that cannot be read"
        assert f"{row} {what}." in faults
    assert f"Loan {other.pk} is not as the log has it." in faults
    assert f"Kit {other.kit_id} is not as the log has it." in faults
