"""Changing a mail before it goes."""

from __future__ import annotations

import pytest

from rentals.actions.edit_mail import edit_mail, take_address
from rentals.errors import Refused
from rentals.models import Attachment, Message
from tests.factories import packed_loan
from tests.rentals.letters import mail_to, states, steps

pytestmark = pytest.mark.django_db
A = "ada@strings.example"
WORDS = {"to_name": "Ada", "to_address": A, "subject": "Your kit", "body_text": "Dear Ada"}


def test_both_faces_take_the_new_words():
    mail = edit_mail(mail_to(A), **{**WORDS, "body_text": "  Dear <Ada>  "})
    assert mail.body_text == "Dear <Ada>"
    assert "<p>Dear &lt;Ada&gt;</p>" in mail.body_html
    assert steps(mail) == ["Changed."]


def test_a_failed_mail_becomes_a_draft_whose_papers_are_printed_anew():
    mail = mail_to(A, state="failed", last_error="550 no such box")
    Attachment.objects.create(message=mail, file_name="a.pdf", paper="packing_list", content=b"x")
    Attachment.objects.create(message=mail, file_name="b.pdf", content=b"y")
    edited = edit_mail(mail, **WORDS)
    assert (edited.state, edited.last_error) == ("draft", "")
    contents = mail.attachments.order_by("pk").values_list("content", flat=True)
    assert [bytes(content) for content in contents] == [b"", b"y"]


def test_a_failed_mail_does_not_become_a_second_draft_of_its_occasion():
    loan = packed_loan()
    draft = Message.objects.get(loan=loan)
    failed = mail_to(A, loan=loan, state="failed")
    assert failed.occasion == draft.occasion
    with pytest.raises(Refused, match="discard one of the two"):
        edit_mail(failed, **WORDS)
    assert states()[A] == "failed"


@pytest.mark.parametrize("state", ["approved", "queued", "discarded"])
def test_words_that_have_been_let_go_stand(state):
    with pytest.raises(Refused, match="its words stand"):
        edit_mail(mail_to(A, state=state), **WORDS)


def test_a_mail_of_no_loan_keeps_its_address():
    assert take_address(mail_to(A)).to_address == A
