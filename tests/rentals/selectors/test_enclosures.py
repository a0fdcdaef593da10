"""The papers that go with a mail are printed when they are needed."""

from __future__ import annotations

import pytest

from rentals.models import Attachment, Message
from rentals.selectors.enclosures import content_of, file_name, printed, trouble_with
from tests.factories import packed_loan
from tests.rentals.letters import mail_to
from tests.rentals.paper.reading import text_of

pytestmark = pytest.mark.django_db


def test_a_paper_of_a_loan_is_printed_as_the_loan_stands(no_fonts_found):
    loan = packed_loan()
    mail = Message.objects.get(loan=loan)
    attached = mail.attachments.get()
    assert attached.file_name == file_name("packing_list", loan)
    assert loan.enrolment.student.name in text_of(content_of(attached))
    statement = Attachment(message=mail, paper="statement", file_name="s.pdf")
    assert "Statement" in text_of(printed(statement).pdf)
    assert trouble_with([attached, statement]) == ""

    loan.enrolment.student.name = "Ada \U000132aa"
    loan.enrolment.student.save()
    assert "crossed boxes in place of" in trouble_with([attached])
    loan.enrolment.student.name = "王小明"
    loan.enrolment.student.save()
    trouble = trouble_with([attached])
    assert "typeface on the reader's device for: 王小明" in trouble
    assert "fonts-noto-cjk or noto-cjk-sans-otc" in trouble


def test_kept_bytes_go_out_as_they_are_and_a_paper_of_no_loan_is_said():
    kept = Attachment(message=mail_to("ada@strings.example"), file_name="a.pdf", content=b"%PDF")
    assert content_of(kept) == b"%PDF"
    assert trouble_with([kept]) == ""
    lost = Attachment(message=kept.message, file_name="b.pdf", paper="packing_list")
    assert trouble_with([lost]) == "b.pdf cannot be printed: b.pdf is no paper of a loan."
