"""Another kit for a student."""

from datetime import timedelta

import pytest

from rentals.actions.swap import give_another_kit
from rentals.errors import Refused
from rentals.models import Loan
from tests.factories import assigned_loan, complete_kit, packed_loan

pytestmark = pytest.mark.django_db


def test_the_other_kit_goes_on_the_same_days_and_the_first_is_free() -> None:
    loan = assigned_loan()
    first, other = loan.kit, complete_kit(loan.kit.kit_type)
    loan.due_on += timedelta(days=3)
    loan.due_on_rule = "worked out"
    loan.save()
    after = give_another_kit(loan, other)
    first.refresh_from_db()
    assert first.state == "shelf"
    assert (after.kit, after.enrolment, after.due_on) == (other, loan.enrolment, loan.due_on)
    after.refresh_from_db()
    assert after.due_on_rule == "worked out"
    assert any(other.code in event.text for event in first.events.all())


def test_a_refusal_changes_nothing() -> None:
    loan, packed = assigned_loan(), packed_loan()
    with pytest.raises(Refused, match="unpack it first"):
        give_another_kit(packed, complete_kit(packed.kit.kit_type))
    with pytest.raises(Refused, match="cannot be assigned"):
        give_another_kit(loan, packed.kit)
    assert Loan.objects.get(pk=loan.pk).stage == "assigned"
