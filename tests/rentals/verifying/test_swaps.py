"""A swap that no event tells of, or of two students, is found."""

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.replace_kit import replace_kit
from rentals.models import Loan
from rentals.verify import verify
from rentals.verifying import jobs
from tests.factories import EnrolmentFactory, complete_kit, packed_loan

pytestmark = pytest.mark.django_db


def test_swaps_are_as_their_events_say(monkeypatch):
    # Each kit is looked at by itself, though a deposit goes from one to the other.
    monkeypatch.setattr(jobs, "KITS", 1)
    loan = dispatch(packed_loan().kit)
    other = complete_kit(loan.kit.kit_type)
    after = replace_kit(loan, other, fault="Dead", due_on=loan.due_on)
    assert verify() == []
    stranger = EnrolmentFactory(run=loan.enrolment.run)
    Loan.objects.filter(pk=after.pk).update(enrolment=stranger)
    assert "the kit of another student" in "".join(verify())
    Loan.objects.filter(pk=after.pk).update(replaces=None)
    assert "not what its events say" in "".join(verify())
