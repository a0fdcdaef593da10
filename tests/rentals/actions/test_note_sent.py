"""Mails that reached the student by other means."""

from __future__ import annotations

import pytest
from django.utils import timezone

from rentals.actions.note_sent import note_sent
from rentals.errors import Refused
from tests.rentals.letters import mail_to, steps

pytestmark = pytest.mark.django_db
A = "ada@strings.example"


def test_how_it_reached_the_student_is_noted_once():
    mail = note_sent(note_sent(mail_to(A), how="  by phone "), how="again")
    assert (mail.state, steps(mail)) == ("sent", ["by phone"])
    assert mail.sent_at is not None


def test_without_a_word_it_is_noted_all_the_same():
    mail = note_sent(mail_to(A, state="uncertain"))
    assert steps(mail) == ["Noted as sent."]


@pytest.mark.parametrize("state", ["sending", "discarded"])
def test_a_mail_that_is_being_sent_or_was_discarded_is_not(state):
    with pytest.raises(Refused):
        note_sent(mail_to(A, state=state, claimed_at=timezone.now()))
