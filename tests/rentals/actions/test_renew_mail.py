"""Facts at the time of sending: no mail is untrue on the day it leaves."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta

import pytest
from django.core.management import call_command
from django.utils import timezone

from rentals.actions.approve import approve, approve_many, resend
from rentals.actions.dispatch import dispatch, extend, note_sent_back
from rentals.actions.draft import draft, draft_on_request
from rentals.actions.edit_mail import edit_mail, take_address
from rentals.actions.receive import arrive
from rentals.actions.renew_mail import renew, renew_waiting
from rentals.errors import Refused
from rentals.models import Loan, Message, ReminderRule
from tests.factories import packed_loan
from tests.hour import most
from tests.rentals.letters import steps

pytestmark = pytest.mark.django_db(transaction=True)
START = date(2027, 3, 1)


class Clock:
    """The day that the desk takes for today."""

    today = START

    def now(self) -> datetime:
        return timezone.make_aware(datetime.combine(self.today, time(9)))


@pytest.fixture
def clock(monkeypatch):
    clock = Clock()
    monkeypatch.setattr(timezone, "now", clock.now)
    return clock


def _away(clock: Clock, days: int) -> Loan:
    """A kit sent today that is due back in so many days, without a mail."""
    loan = packed_loan()
    due = clock.today + timedelta(days=days)
    Loan.objects.filter(pk=loan.pk).update(post_by=clock.today, due_on=due)
    loan = dispatch(loan.kit)
    Message.objects.all().delete()
    return loan


def _edited(mail: Message, text: str) -> Message:
    return edit_mail(
        mail,
        to_name=mail.to_name,
        to_address=mail.to_address,
        subject="About your kit",
        body_text=text,
    )


def _true_on(subject: str, due: date, today: date) -> bool:
    days = (due - today).days
    if "was due back" in subject:
        return days < 0
    if "arrived" in subject:
        return days >= 0
    words = {0: "today", 1: "tomorrow"}.get(days, f"in {days} days")
    return days >= 0 and f"due back {words}," in subject


def _rules() -> None:
    rules = [(5, "after_dispatch"), (7, "before_due"), (1, "before_due")]
    rules += [(3, "after_due"), (14, "after_due")]
    for days, moment in rules:
        automatic = (days, moment) in [(7, "before_due"), (3, "after_due")]
        ReminderRule.objects.create(days=days, moment=moment, automatic=automatic)


SEASON = 120
EACH = most(2, 1)
A_YEAR = pytest.param(
    365,
    (12, 45, 100, 128, 170, 215, 260, 300, 340),
    marks=pytest.mark.night,
)


@pytest.mark.any_database
@pytest.mark.parametrize(("days", "due_after"), [(70, (12, 45)), A_YEAR])
def test_no_mail_is_untrue_on_the_day_it_leaves(days, due_after, clock, smtp_server, settings):
    """Again and again the desk is off for two weeks, the server down for ten days and nobody reads
    for five weeks, in which by day the desk looks every other day only.
    """
    _rules()
    loans = {_away(clock, days).enrolment.student.email: days for days in due_after}
    open_port = settings.EMAIL_PORT
    checked = 0
    for day in range(days):
        clock.today = START + timedelta(days=day)
        of_season = day % SEASON
        if 8 <= of_season < 22 or (33 <= of_season < 68 and day % EACH):
            continue
        settings.EMAIL_PORT = 9 if 22 <= of_season < 32 else open_port
        call_command("tick", verbosity=0)
        if not 33 <= of_season < 68:
            approve_many(Message.objects.filter(state="draft").values_list("pk", flat=True))
        for received in smtp_server.received[checked:]:
            due = START + timedelta(days=loans[received.recipients[0]])
            subject = str(received.message["subject"])
            assert _true_on(subject, due, clock.today), (subject, due, clock.today)
        checked = len(smtp_server.received)
        reminders = Message.objects.filter(state__in=["draft", "approved", "queued"])
        assert reminders.count() == reminders.values("loan").distinct().count()
    assert checked >= 2 * len(due_after)
    assert Message.objects.filter(state="discarded", last_error__contains="has passed").exists()


def test_untouched_words_are_filled_anew_and_say_so(clock):
    loan = _away(clock, 7)
    mail = draft_on_request("due_soon", loan)
    assert "in 7 days" in mail.subject
    clock.today += timedelta(days=6)
    assert renew_waiting() == 1
    mail.refresh_from_db()
    assert ("tomorrow" in mail.subject, "tomorrow" in mail.body_html) == (True, True)
    assert steps(mail)[-1] == "Brought up to date with the loan as it stands."
    assert renew_waiting() == 0


def test_what_events_have_overtaken_is_dropped_and_says_which(clock, smtp_server):
    soon, late, back, coming = (draft("due_soon", _away_kept(clock)) for _ in range(4))
    arrive(back.loan.kit)
    note_sent_back(coming.loan, clock.today)
    clock.today += timedelta(days=10)
    Message.objects.filter(pk=back.pk).update(state="draft")
    Message.objects.filter(pk=coming.pk).update(state="approved")
    assert approve(soon).last_error.startswith("The day the kit was due back")
    approval = approve_many([late.pk, back.pk])
    assert (approval.batch, len(approval.staying)) == (None, 2)
    call_command("tick", verbosity=0)
    assert set(Message.objects.values_list("state", flat=True)) == {"discarded"}
    assert steps(back)[-1] == "Discarded. The kit is back."
    assert steps(coming)[-1] == "Discarded. The kit is on its way back."
    assert smtp_server.received == []


def _away_kept(clock: Clock) -> Loan:
    loan = packed_loan()
    due = clock.today + timedelta(days=7)
    Loan.objects.filter(pk=loan.pk).update(post_by=clock.today, due_on=due)
    Message.objects.filter(loan=loan).delete()
    return dispatch(loan.kit)


def test_words_of_a_person_are_held_until_somebody_has_read_them_again(clock, smtp_server):
    loan = _away(clock, 7)
    mail = _edited(draft_on_request("due_soon", loan), "Please post it tomorrow.")
    Message.objects.filter(pk=mail.pk).update(state="queued")
    clock.today += timedelta(days=2)
    call_command("tick", verbosity=0)
    mail.refresh_from_db()
    assert (mail.state, mail.body_text) == ("draft", "Please post it tomorrow.")
    assert "“in 7 days”, now “in 5 days”" in mail.last_error
    with pytest.raises(Refused, match="save it as it stands"):
        approve(mail)
    take_address(mail)
    assert approve_many([mail.pk]).batch is None
    mail.refresh_from_db()
    edit_mail(
        mail,
        to_name=mail.to_name,
        to_address=mail.to_address,
        subject=mail.subject,
        body_text=mail.body_text,
    )
    approve(mail)
    (received,) = smtp_server.received
    assert received.message["subject"] == "About your kit"


def test_extending_a_packed_loan_renews_its_mail_and_holds_words_of_a_person(clock):
    untouched, touched = packed_loan(), packed_loan()
    mails = {mail.loan_id: mail for mail in Message.objects.all()}
    own_words = _edited(mails[touched.pk], "Due on the day agreed.")
    for loan in (untouched, touched):
        extend(loan, loan.due_on + timedelta(days=30))
    renewed = Message.objects.get(pk=mails[untouched.pk].pk)
    assert renewed.body_text != mails[untouched.pk].body_text
    own_words.refresh_from_db()
    assert own_words.body_text == "Due on the day agreed."
    assert "the day the kit is due back was" in own_words.last_error
    assert "print it again" in untouched.events.latest("number").text
    extend(touched, touched.due_on)
    assert Message.objects.get(pk=own_words.pk).last_error == ""


def test_a_mail_that_went_stays_sent_and_is_not_sent_again_untrue(clock, smtp_server):
    mail = approve(draft_on_request("due_soon", _away(clock, 7)))
    mail.refresh_from_db()
    assert mail.state == "sent"
    clock.today += timedelta(days=20)
    with pytest.raises(Refused, match="would be untrue"):
        resend(mail)
    Message.objects.filter(pk=mail.pk).update(state="approved")
    assert renew(mail).state == "sent"
    assert re.match("Not sent again. The day", steps(mail)[-1])


def test_other_words_of_an_approved_mail_go_under_another_message_id(clock):
    mail = draft_on_request("due_soon", _away(clock, 7))
    Message.objects.filter(pk=mail.pk).update(state="queued")
    clock.today += timedelta(days=1)
    renewed = renew(mail)
    assert (renewed.state, renewed.message_id == mail.message_id) == ("approved", False)


def test_the_list_of_a_packed_kit_that_was_mailed_is_written_anew_with_the_new_day(clock):
    loan = packed_loan()
    Message.objects.update(state="sent", sent_at=clock.now())
    extend(loan, loan.due_on)
    assert Message.objects.count() == 1
    extend(loan, loan.due_on + timedelta(days=30))
    second = Message.objects.get(state="draft")
    assert second.facts["due"] != Message.objects.get(state="sent").facts["due"]
    assert second.facts["due"] in second.body_text
