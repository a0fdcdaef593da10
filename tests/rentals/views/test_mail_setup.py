"""Setup of mail: wordings and reminder rules."""

from __future__ import annotations

import pytest

from rentals.models import MailWording, Message, ReminderRule
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db(transaction=True)


def _text(answer) -> str:
    return answer.content.decode()


def test_wording_is_previewed_on_a_real_loan_and_checked_when_kept(signed_in):
    loan = packed_loan()
    page = _text(signed_in.get("/setup/mail/packing_list/"))
    assert f"Dear {loan.enrolment.student.name}" in page
    typed = {
        "subject": "Kit {kit}",
        "text": "Hello {student}, <i>{run}</i>",
        "loan": loan.pk,
        "drafted_by_itself": "on",
    }
    fragment = signed_in.post(
        "/setup/mail/packing_list/", {**typed, "preview": "1"}, headers={"HX-Request": "true"}
    )
    assert "<html" not in _text(fragment)
    assert f"Hello {loan.enrolment.student.name}, &lt;i&gt;{loan.enrolment.run.name}" in _text(
        fragment
    )
    assert not MailWording.objects.exists()
    refused = signed_in.post(
        "/setup/mail/packing_list/", {**typed, "text": "Hello {student.password}"}
    )
    assert refused.status_code == 422
    assert "{student.password}" in _text(refused)
    unknown = signed_in.post("/setup/mail/packing_list/", {**typed, "text": "Hello {secret}"})
    assert "{secret} stands for nothing here" in _text(unknown) and "{tracking}" in _text(unknown)
    assert signed_in.post("/setup/mail/packing_list/", typed).status_code == 302
    Message.objects.all().delete()
    packed_loan()
    assert Message.objects.get().body_text.startswith("Hello Viola Tester")
    signed_in.post("/setup/mail/packing_list/usual/")
    assert not MailWording.objects.exists()


def test_a_mail_that_is_not_wanted_is_not_drafted(signed_in):
    assert "drafted by itself" in _text(signed_in.get("/setup/mail/"))
    signed_in.post("/setup/mail/packing_list/", {"subject": "Kit", "text": "Hello"})
    packed_loan()
    assert not Message.objects.exists()


def test_reminder_rules_are_kept_changed_and_removed(signed_in):
    assert "Add the usual four" in _text(signed_in.get("/setup/reminders/"))
    signed_in.post("/setup/reminders/usual/")
    assert ReminderRule.objects.count() == 4
    assert not ReminderRule.objects.filter(automatic=True).exists()
    twin = signed_in.post(
        "/setup/reminders/new/", {"days": 7, "moment": "before_due", "active": "on"}
    )
    assert twin.status_code == 422 and ReminderRule.objects.count() == 4
    assert (
        signed_in.post("/setup/reminders/new/", {"days": "400", "moment": "before_due"}).status_code
        == 422
    )
    rule = ReminderRule.objects.get(moment="before_due")
    signed_in.post(
        f"/setup/reminders/{rule.pk}/", {"days": 5, "moment": "before_due", "automatic": "on"}
    )
    rule.refresh_from_db()
    assert (rule.days, rule.automatic, rule.active) == (5, True, False)
    signed_in.post(f"/setup/reminders/{rule.pk}/remove/")
    assert ReminderRule.objects.count() == 3
