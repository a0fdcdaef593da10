"""Letting mails go: one, many, by a rule, once more."""

from __future__ import annotations

import pytest
from django.contrib.auth import get_user_model

from rentals.actions.approve import approve, approve_by_rule, approve_many, resend
from rentals.actions.discard import discard
from rentals.errors import Refused
from rentals.models import Message, MessageBatch
from tests.rentals.letters import mail_to, states, steps

#: Nothing commits here, so nothing is sent: what is tested is the word itself.
pytestmark = pytest.mark.django_db
A, B, BAD = "ada@strings.example", "ben@strings.example", "jörg@strings.example"


def test_an_approved_mail_says_by_whom_and_is_approved_once():
    ida = get_user_model().objects.create_user("ida")
    mail = approve(approve(mail_to(A), actor=ida))
    assert (mail.state, mail.approved_by) == ("approved", "ida")
    assert steps(mail) == ["Approved."]


def test_a_discarded_mail_is_not_approved():
    with pytest.raises(Refused, match="Draft a new one"):
        approve(discard(mail_to(A)))


@pytest.mark.parametrize(
    ("facts", "field"),
    [
        ({"to_name": "Ada\nBcc: x@evil.example"}, "to_name"),
        ({"subject": "a\x7fb"}, "subject"),
        ({"subject": "  "}, "subject"),
        ({"body_text": " \n "}, "body_text"),
    ],
)
def test_what_cannot_be_sent_stays_a_draft_and_names_its_field(facts, field):
    mail = mail_to(A, **facts)
    with pytest.raises(Refused) as refusal:
        approve(mail)
    assert refusal.value.field == field
    assert states() == {A: "draft"}


def test_many_go_as_one_batch_and_the_rest_say_why_they_stay():
    mails = [mail_to(A), mail_to(BAD, to_name="Jörg"), mail_to(B)]
    approval = approve_many([mail.pk for mail in mails])
    assert states() == {A: "approved", BAD: "draft", B: "approved"}
    assert (approval.count, approval.batch.messages.count()) == (2, 2)
    (sentence,) = approval.staying
    assert sentence.startswith("Jörg: ") and "before the @" in sentence


def test_where_nothing_can_go_there_is_no_batch():
    approval = approve_many([mail_to(BAD, to_name="").pk])
    assert (approval.batch, approval.count) == (None, 0)
    assert approval.staying[0].startswith("Your kit: ")
    assert not MessageBatch.objects.exists()


def test_a_rule_lets_a_mail_go_and_leaves_one_that_cannot_be_sent():
    going, staying = approve_by_rule(mail_to(A)), approve_by_rule(mail_to(BAD))
    assert (going.state, going.automatic, going.approved_by) == ("approved", True, "")
    assert (staying.state, staying.automatic) == ("draft", False)


@pytest.mark.parametrize("state", ["approved", "queued"])
def test_a_mail_on_its_way_is_not_sent_twice(state):
    mail = mail_to(A, state=state)
    assert resend(mail).state == state
    assert steps(mail) == []


def test_a_draft_is_approved_and_not_sent_again():
    with pytest.raises(Refused, match="approve it instead"):
        resend(mail_to(A))


def test_a_failed_mail_starts_afresh_under_its_message_id():
    mail = mail_to(A, state="failed", attempts=3, last_error="550 no such box")
    again = resend(mail)
    assert (again.state, again.attempts, again.last_error) == ("approved", 0, "")
    assert again.message_id == mail.message_id
    assert Message.objects.get().claimed_at is None
