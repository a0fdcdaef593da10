"""From rows to letters."""

from __future__ import annotations

from datetime import date

import pytest
from django.utils import timezone

from rentals.actions.draft import draft
from rentals.models import Attachment, Message, Practice
from rentals.post.building import build
from rentals.post.facts import Enclosure
from rentals.post.usual_wording import USUAL
from rentals.post.values import loan_values
from rentals.post.wording import NAMES, fill
from rentals.selectors.letters import letter_of, loan_facts, mail_sender
from tests.factories import packed_loan
from tests.rentals.letters import mail_to


@pytest.mark.django_db
@pytest.mark.parametrize("occasion", Message.Occasion.values)
def test_every_occasion_can_be_written_about_a_loan_without_a_brace_left(occasion):
    values = loan_values(loan_facts(packed_loan()), today=date(2026, 5, 4))
    assert set(values) == set(NAMES)
    letter = fill(USUAL[occasion], values)
    assert "{" not in letter.subject + letter.text
    assert "Dear Viola Tester" in letter.text
    assert "\n\n\n" not in letter.text


@pytest.mark.django_db
def test_a_mail_as_a_letter_has_its_words_and_its_files():
    mail = mail_to("ada@strings.example", automatic=True)
    Attachment.objects.create(message=mail, file_name="a.pdf", content=b"%PDF")
    letter = letter_of(mail)
    assert (letter.to_name, letter.to_address) == ("Viola Tester", "ada@strings.example")
    assert (letter.subject, letter.text) == ("Your kit", mail.body_text)
    assert (letter.message_id, letter.automatic) == (mail.message_id, True)
    assert letter.enclosures == (Enclosure("a.pdf", b"%PDF"),)


@pytest.mark.django_db
def test_the_sender_is_the_practice_at_the_desk_s_address(settings):
    settings.DEFAULT_FROM_EMAIL = "Kitdesk <post@quietbow.example>"
    settings.BOUNCE_ADDRESS = "bounces@quietbow.example"
    sender = mail_sender(Practice(name="Quiet Bow", email="desk@quietbow.example"))
    assert (sender.name, sender.address) == ("Quiet Bow", "post@quietbow.example")
    assert sender.answers_to == "desk@quietbow.example"
    assert sender.bounces_to == "bounces@quietbow.example"


@pytest.mark.django_db
def test_the_mails_of_one_loan_are_one_conversation_under_names_that_are_nobody_s_else(settings):
    settings.DEFAULT_FROM_EMAIL = "kitdesk@localhost"
    loan = packed_loan()
    first = Message.objects.get()
    assert first.message_id.endswith("@kitdesk.invalid>")
    assert letter_of(first).follows == ()
    Message.objects.update(state="sent", sent_at=timezone.now())
    Practice.objects.create(pk=1, email="desk@quietbow.example")
    reminder = draft("due_soon", loan)
    assert reminder.message_id.endswith("@quietbow.example>")
    mail = build(letter_of(reminder), mail_sender()).message()
    assert (mail["In-Reply-To"], mail["References"]) == (first.message_id, first.message_id)
