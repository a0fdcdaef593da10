"""Nobody is left to pay, to be paid or to be written to once the student is erased."""

import pytest
from django.utils import timezone

from rentals.actions.balance import note_balance_paid
from rentals.actions.dispatch import dispatch
from rentals.actions.draft import draft_by_itself, draft_on_request
from rentals.actions.of_erased import is_erased, refuse_erased
from rentals.actions.receive import write_off
from rentals.actions.settle import charge, recover, settle
from rentals.errors import Refused
from rentals.models import Loan, Message, Student
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db


def test_money_and_mails_of_an_erased_student_stay_as_they_are():
    loan = write_off(dispatch(packed_loan().kit).kit, reason="Stolen.")
    for short in loan.shortfalls.all():
        charge(short, short.amount)
    settle(loan)
    refuse_erased(loan)
    assert not is_erased(loan)
    Student.objects.update(erased_at=timezone.now())
    loan = Loan.objects.get(pk=loan.pk)
    mails = Message.objects.count()
    day = timezone.localdate()
    for act in (
        lambda: recover(loan.shortfalls.first()),
        lambda: note_balance_paid(loan, day),
        lambda: draft_on_request(Message.Occasion.STATEMENT, loan),
    ):
        with pytest.raises(Refused, match="was erased"):
            act()
    assert draft_by_itself(Message.Occasion.STATEMENT, loan) is None
    assert Message.objects.count() == mails
