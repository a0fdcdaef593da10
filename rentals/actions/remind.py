"""Reminders: which rule wants which loan's student written to today.

A reminder that would fall on a day off goes out on the last working day before (ahead of the due
date) or on the next one (after it). A student gets the latest reminder that is due, never a pile of
earlier ones; nothing is written while the kit is on its way back.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta

from django.db import IntegrityError, transaction
from django.utils import timezone

from rentals.models import Loan, LoanStage, Message, Practice, ReminderRule
from rentals.post.days import (
    working_day_on_or_after,
    working_day_on_or_before,
    working_days_from,
)

from .approve import approve_by_rule
from .draft import draft

Moment = ReminderRule.Moment
#: Days after which the question "did it arrive?" is no longer worth asking.
STALE = timedelta(days=14)


def reminder_day(rule: ReminderRule, loan: Loan, country: str) -> date | None:
    """The working day on which a rule wants a loan's student written to; None where the loan has no
    such day.
    """
    start = loan.due_on
    if rule.moment == Moment.AFTER_DISPATCH:
        if loan.dispatched_at is None:
            return None
        start = timezone.localdate(loan.dispatched_at)
    days = -rule.days if rule.moment == Moment.BEFORE_DUE else rule.days
    if rule.working_days:
        start = working_days_from(start, days, country)
    else:
        start += timedelta(days=days)
    move = working_day_on_or_before if rule.moment == Moment.BEFORE_DUE else working_day_on_or_after
    return move(start, country)


def due_rule(
    rules: Iterable[ReminderRule], loan: Loan, country: str, today: date
) -> ReminderRule | None:
    """The one rule that has its word on a loan today: of those whose day has come, the latest."""
    due = []
    for rule in rules:
        day = reminder_day(rule, loan, country)
        if day is None or day > today or _is_past(rule, loan, day, today):
            continue
        due.append((day, rule.pk, rule))
    return max(due, key=lambda one: one[:2])[2] if due else None


def _is_past(rule: ReminderRule, loan: Loan, day: date, today: date) -> bool:
    """Whether a reminder has lost its sense: "due soon" once the day is gone, "arrived?" after a
    while.
    """
    if rule.moment == Moment.BEFORE_DUE:
        return today > loan.due_on
    return rule.moment == Moment.AFTER_DISPATCH and (today - day > STALE or today > loan.due_on)


def rule_key(rule: ReminderRule, loan: Loan) -> str:
    """What is used up when a rule has reminded of a loan; a loan that got another due date is
    reminded anew of that.
    """
    day = "" if rule.moment == Moment.AFTER_DISPATCH else f" due {loan.due_on}"
    return f"loan {loan.pk} rule {rule.pk}{day}"


def remind(*, now: datetime | None = None) -> int:
    """Draft every reminder that is due, and let those go whose rule says so; returns how many were
    drafted.

    Safe to run twice at once: the rule's key is unique in the database, and whoever comes second
    finds it taken.
    """
    now = now or timezone.now()
    today = timezone.localdate(now)
    rules = list(ReminderRule.objects.filter(active=True))
    if not rules:
        return 0
    country = str(Practice.current().country or "")
    away = list(
        Loan.objects.filter(
            stage=LoanStage.AWAY, sent_back_on__isnull=True, return_tracking_number=""
        )
        .select_related("enrolment__student")
        .order_by("pk")
    )
    keys = Message.objects.filter(loan__stage=LoanStage.AWAY, rule_key__isnull=False)
    used = set(keys.values_list("rule_key", flat=True))
    drafted = 0
    for loan in away:
        rule = due_rule(rules, loan, country, today)
        if rule is not None and rule_key(rule, loan) not in used:
            drafted += _remind(rule, loan, now)
    return drafted


def _still_away(loan: Loan) -> bool:
    """Whether the loan, locked and read anew, still stands as it did when the list was made."""
    current = Loan.objects.select_for_update().get(pk=loan.pk)
    return (
        current.stage == LoanStage.AWAY
        and current.sent_back_on is None
        and current.due_on == loan.due_on
    )


def _remind(rule: ReminderRule, loan: Loan, now: datetime) -> int:
    try:
        with transaction.atomic():
            if not _still_away(loan):
                return 0
            message = draft(rule.occasion, loan, at=now, rule_key=rule_key(rule, loan))
            if rule.automatic:
                approve_by_rule(message, at=now)
    except IntegrityError:
        return 0  # another worker drafted it a moment ago
    return 1
