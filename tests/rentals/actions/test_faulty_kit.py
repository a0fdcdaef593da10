"""What taking a swap back does to the loan of the faulty kit once that is here."""

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.faulty_kit import lock_with_faulty
from rentals.actions.issue import unassign
from rentals.actions.receive import arrive
from rentals.actions.replace_kit import replace_kit
from rentals.verify import verify
from tests.factories import complete_kit, packed_loan

pytestmark = pytest.mark.django_db


def test_a_faulty_kit_that_is_back_keeps_its_day():
    loan = dispatch(packed_loan().kit)
    other = complete_kit(loan.kit.kit_type)
    day = loan.post_by
    replace_kit(loan, other, fault="Dead", due_on=day)
    assert lock_with_faulty(other) == other
    arrive(loan.kit)
    unassign(other)
    loan.refresh_from_db()
    assert (loan.fault, loan.due_on) == ("", day)
    assert verify() == []
