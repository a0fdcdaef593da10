"""Mailing a whole run with one word."""

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.mail_run import mail_run
from rentals.errors import Refused
from rentals.models import Message
from tests.factories import CourseRunFactory, EnrolmentFactory, complete_kit, packed_loan

pytestmark = pytest.mark.django_db


def loan_on(run, **student):
    names = {f"student__{name}": value for name, value in student.items()}
    return packed_loan(complete_kit(run.kit_type), EnrolmentFactory(run=run, **names))


def test_all_chosen_go_as_one_batch_once_and_a_waiting_draft_is_taken():
    run = CourseRunFactory()
    loans = [loan_on(run), loan_on(run), loan_on(run, email="jörg@strings.example")]
    drafts = set(Message.objects.values_list("pk", flat=True))
    approval = mail_run(run, "packing_list", [loan.pk for loan in loans])
    assert (approval.count, len(approval.staying)) == (2, 1)
    assert set(Message.objects.values_list("pk", flat=True)) == drafts
    assert sorted(Message.objects.values_list("state", flat=True)) == [
        "approved",
        "approved",
        "draft",
    ]


def test_what_does_not_fit_is_refused_and_nothing_is_drafted():
    run = CourseRunFactory()
    packed, away = loan_on(run), dispatch(loan_on(run).kit)
    count = Message.objects.count()
    elsewhere = packed_loan()
    for occasion, loans, sentence in (
        ("gossip", [away], "what the mail is about"),
        ("arrived", [], "Tick who gets"),
        ("arrived", [elsewhere], "Tick who gets"),
        ("arrived", [packed, away], "the kit is packed now"),
    ):
        with pytest.raises(Refused, match=sentence):
            mail_run(run, occasion, [loan.pk for loan in loans])
    assert Message.objects.count() == count + 1
    assert mail_run(run, "arrived", [away.pk]).count == 1
