"""What every act on a mail does to its rows."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import transaction
from django.utils import timezone

from rentals.actions.mail_rows import LONGEST_STEP, check_sendable, lock_mail, note_step
from rentals.errors import Refused
from rentals.models import Message
from tests.rentals.letters import mail_to, steps

pytestmark = pytest.mark.django_db
A = "ada@strings.example"


def test_a_locked_mail_is_read_anew():
    mail = mail_to(A)
    Message.objects.update(subject="Changed meanwhile")
    with transaction.atomic():
        assert lock_mail(mail).subject == "Changed meanwhile"


@pytest.mark.parametrize(
    ("facts", "field"), [({"subject": " "}, "subject"), ({"body_text": ""}, "body_text")]
)
def test_words_that_cannot_go_name_their_field(facts, field):
    with pytest.raises(Refused) as refusal:
        check_sendable(mail_to(A, **facts))
    assert refusal.value.field == field


def test_a_step_has_its_moment_and_fits_its_column():
    mail = mail_to(A)
    yesterday = timezone.now() - timedelta(days=1)
    note_step(mail, "Said the server: " + "no " * LONGEST_STEP, by="ada", at=yesterday)
    note_step(mail, "Approved.")
    long_step, _ = steps(mail)
    assert len(long_step) == LONGEST_STEP
    assert mail.steps.get(by="ada").at == yesterday
