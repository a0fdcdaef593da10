"""Taking back what has not left the house."""

from __future__ import annotations

import pytest
from django.utils import timezone

from rentals.actions.discard import discard, discard_many, discard_unsent
from rentals.errors import Refused
from rentals.models import Message
from tests.factories import packed_loan
from tests.rentals.letters import mail_to, states, steps

pytestmark = pytest.mark.django_db
A, B = "ada@strings.example", "ben@strings.example"


@pytest.mark.parametrize("state", ["draft", "approved", "queued", "failed"])
def test_a_mail_is_taken_back_once(state):
    mail = discard(discard(mail_to(A, state=state)))
    assert (mail.state, steps(mail)) == ("discarded", ["Discarded."])


@pytest.mark.parametrize(
    ("facts"),
    [
        {"state": "sent", "sent_at": timezone.now()},
        {"state": "sending", "claimed_at": timezone.now()},
        {"state": "uncertain"},
    ],
)
def test_a_mail_that_left_or_may_have_left_is_past_stopping(facts):
    with pytest.raises(Refused, match="cannot be taken back"):
        discard(mail_to(A, **facts))


def test_of_many_only_the_drafts_are_taken_back():
    mails = [mail_to(A), mail_to(B, state="approved")]
    assert discard_many([mail.pk for mail in mails]) == 1
    assert states() == {A: "discarded", B: "approved"}


def test_an_act_takes_back_the_loan_s_mails_of_its_occasions_alone():
    loan = packed_loan()
    draft = Message.objects.get(loan=loan)
    assert discard_unsent(loan, ["shortfall"], reason="It is settled.") == 0
    assert discard_unsent(loan, ["packing_list"], reason="The kit was unpacked.") == 1
    assert steps(draft)[-1] == "Discarded. The kit was unpacked."
