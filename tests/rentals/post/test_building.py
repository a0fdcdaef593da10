"""What goes over the wire: sender, answers, bounces, both faces, attachments; and mails that cannot
be built.
"""

from __future__ import annotations

import io

import pypdf
import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive, finish_check, note_line
from rentals.actions.send import send_due_mails
from rentals.actions.settle import settle
from rentals.models import Attachment, Message, Practice, Student
from tests.factories import packed_loan
from tests.rentals.letters import approved, mail_to, states, steps

pytestmark = pytest.mark.django_db(transaction=True)
A, B = "ada@strings.example", "ben@strings.example"


def _practice() -> None:
    practice = Practice.current()
    practice.name, practice.email = "Übung & Söhne, Praxis", "desk@quietbow.example"
    practice.save()


def test_sender_answers_and_bounces(smtp_server, settings):
    _practice()
    settings.DEFAULT_FROM_EMAIL = "Kitdesk <post@quietbow.example>"
    settings.BOUNCE_ADDRESS = "bounces@quietbow.example"
    Message.objects.filter(pk=mail_to(A, to_name="Zoë Łukasz").pk).update(state="approved")
    send_due_mails()
    (received,) = smtp_server.received
    message = received.message
    assert received.sender == "bounces@quietbow.example"
    assert message["From"].addresses[0].display_name == "Übung & Söhne, Praxis"
    assert message["From"].addresses[0].addr_spec == "post@quietbow.example"
    assert message["Reply-To"].addresses[0].addr_spec == "desk@quietbow.example"
    assert message["To"].addresses[0].display_name == "Zoë Łukasz"
    assert message["Auto-Submitted"] is None  # a person approved it


def test_without_a_bounce_address_the_sender_shown_gets_them(smtp_server, settings):
    settings.DEFAULT_FROM_EMAIL = "Kitdesk <post@quietbow.example>"
    approved(A)
    send_due_mails()
    assert smtp_server.received[0].sender == "post@quietbow.example"


def test_both_faces_say_the_same(smtp_server):
    Message.objects.filter(pk=mail_to(A, body_text="Dear <Ada>,\n\n- lead\n- key").pk).update(
        state="approved"
    )
    send_due_mails()
    message = smtp_server.received[0].message
    plain, html = (message.get_body((kind,)).get_content() for kind in ("plain", "html"))
    assert plain.split() == ["Dear", "<Ada>,", "-", "lead", "-", "key"]
    assert "<p>Dear &lt;Ada&gt;,</p>" in html and "<li>lead</li><li>key</li>" in html
    assert message.get_content_type() == "multipart/alternative"


def test_the_statement_of_a_settled_loan_is_mailed_as_a_pdf(signed_in, smtp_server):
    loan = packed_loan()
    dispatch(loan.kit)
    check = arrive(loan.kit)
    for line in check.lines.select_related("packing_line"):
        if line.packing_line.comes_back:
            note_line(line, "back", cleaned=True, charged=True)
    settle(finish_check(check))
    mail = Message.objects.get(occasion="statement")
    assert "To be paid back to you: €80.00" in mail.body_text
    assert "Charged" not in mail.body_text  # nothing was: the line is left out
    signed_in.post(f"/messages/{mail.pk}/approve/")
    (pdf,) = [part.get_content() for part in smtp_server.received[0].message.iter_attachments()]
    text = pypdf.PdfReader(io.BytesIO(pdf)).pages[0].extract_text()
    assert loan.enrolment.student.name in text and "80.00" in text


def test_a_draft_whose_paper_cannot_be_printed_says_so(signed_in):
    mail = mail_to(A)
    paper = Attachment.objects.create(message=mail, file_name="x.pdf", paper="packing_list")
    assert "x.pdf cannot be printed" in signed_in.get(mail.get_absolute_url()).content.decode()
    assert signed_in.get(f"/messages/attachments/{paper.pk}/").status_code == 404


def test_a_paper_that_cannot_be_printed_fails_alone(smtp_server):
    first, _ = approved(A, B)
    Attachment.objects.create(
        message=first, file_name="x.pdf", paper="packing_list"
    )  # of no loan at all
    send_due_mails()
    assert states() == {A: "failed", B: "sent"}
    assert "cannot be printed" in steps(first)[-1]


def test_a_name_that_no_font_can_draw_is_said_before_the_mail_goes(signed_in):
    loan = packed_loan()
    page = signed_in.get(Message.objects.get().get_absolute_url()).content.decode()
    assert "crossed boxes" not in page
    Student.objects.filter(pk=loan.enrolment.student_id).update(
        name="Ada \U000132aa"
    )  # an Egyptian hieroglyph
    page = signed_in.get(Message.objects.get().get_absolute_url()).content.decode()
    assert "crossed boxes in place of: " in page and "\U000132aa" in page


def test_a_sender_that_cannot_be_used_is_said_and_stops_no_worker(smtp_server, settings):
    settings.BOUNCE_ADDRESS = "bounces@quietbow.example\r\nRCPT TO:<x@evil.example>"
    approved(A, B)
    send_due_mails()
    assert set(states().values()) == {"failed"}
    assert "cannot be addressed" in Message.objects.first().last_error


def test_a_draft_takes_the_address_that_was_mended_on_the_student_s_page(signed_in):
    loan = packed_loan()
    mail = Message.objects.get()
    Student.objects.filter(pk=loan.enrolment.student_id).update(email="new@strings.example")
    assert "new@strings.example" in signed_in.get(mail.get_absolute_url()).content.decode()
    signed_in.post(f"/messages/{mail.pk}/address/")
    mail.refresh_from_db()
    assert (mail.to_address, mail.state) == ("new@strings.example", "draft")


def test_the_language_of_a_mail_stands_in_its_head(smtp_server):
    _practice()
    mails = Message.objects.filter(pk=mail_to(A).pk)
    mails.update(state="approved", language="de-at")
    send_due_mails()
    assert smtp_server.received[0].message["Content-Language"] == "de-AT"
