"""Reminders: on the right day, once, and quiet when the kit is back or on its way."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from threading import Thread

import pytest
from django.core.management import call_command
from django.db import connection
from django.utils import timezone

from rentals.actions.approve import approve
from rentals.actions.dispatch import dispatch, extend, note_sent_back
from rentals.actions.receive import arrive
from rentals.actions.remind import remind
from rentals.models import Loan, Message, Practice, ReminderRule
from tests.factories import packed_loan
from tests.hour import most

pytestmark = pytest.mark.django_db(transaction=True)
# : A Wednesday in a stretch without public holidays in Germany (computed with the calendar at hand,
# from memory).
DUE = date(2027, 6, 16)


def _at(day: date, hour: int = 9) -> datetime:
    return timezone.make_aware(datetime.combine(day, time(hour)))


def _away(due: date = DUE, sent: date | None = None) -> Loan:
    loan = packed_loan()
    dispatch(loan.kit)
    sent = sent or due - timedelta(days=80)
    Loan.objects.filter(pk=loan.pk).update(due_on=due, post_by=sent, dispatched_at=_at(sent))
    loan.refresh_from_db()
    Message.objects.all().delete()
    return loan


def _rule(days: int, moment: str, **facts: object) -> ReminderRule:
    return ReminderRule.objects.create(days=days, moment=moment, **facts)


def _germany() -> None:
    practice = Practice.current()
    practice.country = "DE"
    practice.save()


def test_each_reminder_comes_on_its_day_and_never_twice():
    _germany()
    _away()
    _rule(7, "before_due"), _rule(3, "after_due"), _rule(14, "after_due")
    seen = {}
    for offset in range(-10, 30):
        day = DUE + timedelta(days=offset)
        for hour in (7, 12, 18):
            if remind(now=_at(day, hour)):
                seen[offset] = Message.objects.latest("pk").occasion
    # Three days after a Wednesday is a Saturday: that one waits until Monday, five days after.
    assert seen == {-7: "due_soon", 5: "overdue", 14: "overdue"}
    assert Message.objects.count() == 3
    # The latest waits, not a pile.
    assert Message.objects.get(state="draft").occasion == "overdue"
    assert Message.objects.filter(state="discarded").count() == 2


def test_a_desk_that_was_off_sends_the_latest_only():
    _away()
    _rule(7, "before_due"), _rule(3, "after_due"), _rule(14, "after_due")
    assert remind(now=_at(DUE + timedelta(days=20))) == 1
    mail = Message.objects.get()
    assert (mail.occasion, "20 days ago" in mail.body_text) == ("overdue", True)
    assert remind(now=_at(DUE + timedelta(days=21))) == 0


def test_before_a_holiday_the_reminder_comes_earlier_and_after_one_later():
    _germany()
    _away(due=date(2027, 1, 4))
    _rule(10, "before_due")
    # Ten days before is Christmas Day; the last working day before that is the 24th.
    assert remind(now=_at(date(2026, 12, 23))) == 0
    assert remind(now=_at(date(2026, 12, 24))) == 1


def test_did_it_arrive_is_asked_after_posting_and_not_weeks_later():
    sent = date(2027, 3, 1)
    _away(sent=sent)
    _rule(5, "after_dispatch")
    assert remind(now=_at(sent + timedelta(days=4))) == 0
    assert remind(now=_at(sent + timedelta(days=60))) == 0
    assert remind(now=_at(sent + timedelta(days=7))) == 1
    assert Message.objects.get().occasion == "arrived"


def test_a_kit_that_is_back_or_on_its_way_is_left_in_peace():
    back, coming, away = _away(), _away(), _away()
    _rule(3, "after_due")
    arrive(back.kit, at=_at(DUE))
    note_sent_back(coming, DUE, tracking_number="RR 12 34")
    assert remind(now=_at(DUE + timedelta(days=9))) == 1
    assert Message.objects.get().loan_id == away.pk


def test_reminders_that_wait_are_dropped_when_the_kit_moves():
    first, second, third = _away(), _away(), _away()
    _rule(3, "after_due")
    remind(now=_at(DUE + timedelta(days=9)))
    arrive(first.kit, at=_at(DUE + timedelta(days=9)))
    note_sent_back(second, DUE)
    extend(third, DUE + timedelta(days=40))
    assert set(Message.objects.values_list("state", flat=True)) == {"discarded"}
    assert remind(now=_at(DUE + timedelta(days=10))) == 0
    # The new date is a new promise: it has its own reminder.
    assert remind(now=_at(DUE + timedelta(days=50))) == 1


def test_a_reminder_that_was_sent_is_not_drafted_again():
    today = timezone.localdate()
    _away(due=today - timedelta(days=9))
    _rule(3, "after_due")
    remind()
    approve(Message.objects.get())
    assert remind(now=_at(today + timedelta(days=1))) == 0
    assert Message.objects.get().state == "sent"


def test_a_rule_may_send_by_itself_and_says_so(smtp_server):
    loan = _away(due=timezone.localdate() - timedelta(days=9))
    _rule(3, "after_due", automatic=True)
    call_command("tick", verbosity=0)
    (received,) = smtp_server.received
    assert received.recipients == (loan.enrolment.student.email,)
    assert received.message["Auto-Submitted"] == "auto-generated"  # RFC 3834 section 5
    assert Message.objects.get().steps.filter(text="Approved by its reminder rule.").exists()


def test_an_automatic_reminder_to_a_bad_address_waits_among_the_drafts(smtp_server):
    loan = _away(due=timezone.localdate() - timedelta(days=9))
    loan.enrolment.student.email = "jörg@strings.example"
    loan.enrolment.student.save()
    _rule(3, "after_due", automatic=True)
    call_command("tick", verbosity=0)
    assert (Message.objects.get().state, smtp_server.attempts) == ("draft", 0)


def test_rules_out_of_use_and_desks_without_rules_write_nothing():
    _away()
    assert remind(now=_at(DUE + timedelta(days=9))) == 0
    _rule(3, "after_due", active=False)
    assert remind(now=_at(DUE + timedelta(days=9))) == 0


def test_worker_and_cron_at_the_same_time_remind_once():
    for _ in range(4):
        _away()
    _rule(3, "after_due")
    counts: list[int] = []

    def work() -> None:
        try:
            counts.append(remind(now=_at(DUE + timedelta(days=9))))
        finally:
            connection.close()

    workers = [Thread(target=work) for _ in range(4)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    assert sum(counts) == 4
    assert Message.objects.count() == 4


@pytest.mark.parametrize("loans", [2, most(5, 12)])
def test_a_minute_in_which_nothing_is_due_costs_few_queries(django_assert_max_num_queries, loans):
    for _ in range(loans):
        _away()
    _rule(3, "after_due")
    remind(now=_at(DUE + timedelta(days=9)))
    with django_assert_max_num_queries(5):
        assert remind(now=_at(DUE + timedelta(days=9), 12)) == 0
