"""From the packing bench to the student's mailbox, through the screens and a real mail server."""

import io

import pypdf
import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.draft import draft, draft_on_request
from rentals.actions.pack import pack, tick, unpack
from rentals.actions.packing_list import draw_up
from rentals.actions.receive import arrive, finish_check, note_line
from rentals.errors import Refused
from rentals.models import Message, Shortfall
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db(transaction=True)


def _only(occasion: str) -> Message:
    return Message.objects.get(occasion=occasion)


def _attached(mail) -> list[tuple[str, bytes]]:
    return [(part.get_filename(), part.get_content()) for part in mail.iter_attachments()]


def test_packing_drafts_the_mail_once_and_unpacking_takes_it_back():
    loan = packed_loan()
    pack(loan.kit)
    draft = _only("packing_list")
    assert draft.state == "draft"
    assert draft.to_address == loan.enrolment.student.email
    assert loan.enrolment.student.name in draft.body_text
    assert draft.attachments.get().file_name == f"packing-list-{loan.kit.code}.pdf"
    unpack(loan.kit)
    draft.refresh_from_db()
    assert draft.state == "discarded"
    assert draft.steps.last().text == "Discarded. The kit was unpacked."


def test_an_unusable_address_does_not_block_packing_and_the_draft_says_so(signed_in):
    loan = packed_loan()
    student = loan.enrolment.student
    Message.objects.all().delete()
    student.email = "jörg@strings.example"
    student.save()
    unpack(loan.kit)
    for line in draw_up(loan.kit).packing_lines.all():
        tick(line)
    pack(loan.kit)
    draft = _only("packing_list")
    assert "before the @" in draft.steps.last().text
    page = signed_in.get(draft.get_absolute_url())
    assert "Cannot be sent yet" in page.content.decode()
    answer = signed_in.post(f"/messages/{draft.pk}/approve/", follow=True)
    draft.refresh_from_db()
    assert draft.state == "draft"
    assert "before the @" in answer.content.decode()


def test_an_approved_packing_list_reaches_the_mail_server_with_its_pdf(signed_in, smtp_server):
    loan = packed_loan()
    draft = _only("packing_list")
    signed_in.post(f"/messages/{draft.pk}/approve/")
    draft.refresh_from_db()
    assert draft.state == "sent", draft.last_error
    (received,) = smtp_server.received
    assert received.recipients == (loan.enrolment.student.email,)
    ((name, pdf),) = _attached(received.message)
    assert name == f"packing-list-{loan.kit.code}.pdf"
    text = pypdf.PdfReader(io.BytesIO(pdf)).pages[0].extract_text()
    assert loan.enrolment.student.name in text
    for line in loan.packing_lines.exclude(serial=""):
        assert line.serial in text
    assert bytes(draft.attachments.get().content) == pdf


def test_a_check_with_shortfalls_drafts_one_mail_and_sending_it_chases_them(signed_in, smtp_server):
    loan = packed_loan()
    dispatch(loan.kit)
    check = arrive(loan.kit)
    for line in check.lines.select_related("packing_line"):
        kind = line.packing_line.part_kind
        if kind == "licence_key":
            note_line(line, "missing")
        elif kind == "lead_set":
            note_line(line, "damaged", damaged_lead="B")
        elif line.packing_line.comes_back:
            note_line(line, "back", cleaned=True, charged=True)
    finish_check(check)
    draft = _only("shortfall")
    assert "Licence key" in draft.body_text and "missing" in draft.body_text
    assert "lead B" in draft.body_text and "€90.00" in draft.body_text
    assert set(Shortfall.objects.values_list("state", flat=True)) == {"open"}
    signed_in.post(f"/messages/{draft.pk}/approve/")
    assert [mail.message["subject"] for mail in smtp_server.received] == [draft.subject]
    assert set(Shortfall.objects.values_list("state", flat=True)) == {"chased"}


def test_a_mail_is_drafted_on_request_once_and_a_later_reminder_takes_its_place():
    loan = dispatch(packed_loan().kit)
    with pytest.raises(Refused, match="Choose what the mail is about"):
        draft_on_request("birthday", loan)
    with pytest.raises(Refused, match="The kit is not overdue: it is due on"):
        draft_on_request("overdue", loan)
    asked_for = draft_on_request("due_soon", loan)
    assert draft_on_request("due_soon", loan) == asked_for
    reminder = draft("arrived", loan, rule_key="loan 1 rule 1")
    asked_for.refresh_from_db()
    assert (asked_for.state, reminder.state) == ("discarded", "draft")
