"""Asking by rule for what did not come back: so many days after it was found missing, and again."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.db import IntegrityError
from django.db.models import Exists, Min, OuterRef, Q, QuerySet
from django.utils import timezone

from rentals import transaction
from rentals.models import Loan, LoanStage, Message, Practice, ReminderRule, Shortfall
from rentals.post.reminder_days import LoanMoments, ReminderTiming, due_timing
from rentals.states import UNSENT_MAILS

from .approve import approve_by_rule
from .draft import draft

Moment = ReminderRule.Moment
_ASKED_FOR = Q(shortfalls__state__in=Shortfall.UNSETTLED, shortfalls__kind=Shortfall.Kind.MISSING)


def chase_by_rule(*, now: datetime | None = None) -> int:
    """Draft the mails that ask again for what lacks; returns how many. Each rule asks once for what
    was found missing on one day, and never while an earlier mail still waits to be sent.

    Safe to run twice at once: the rule's key is unique in the database.
    """
    now = now or timezone.now()
    rules = {
        rule.pk: rule
        for rule in ReminderRule.objects.filter(active=True, moment=Moment.AFTER_SHORTFALL)
    }
    if not rules:
        return 0
    timings = [
        ReminderTiming(rule.pk, rule.days, rule.moment, rule.working_days)
        for rule in rules.values()
    ]
    country, drafted = str(Practice.current().country or ""), 0
    used = set(Message.objects.filter(rule_key__isnull=False).values_list("rule_key", flat=True))
    for loan in _loans_that_lack():
        since = timezone.localdate(vars(loan)["short_since"])
        moments = LoanMoments(loan.due_on, short_since=since)
        timing = due_timing(timings, moments, country, timezone.localdate(now))
        key = f"loan {loan.pk} rule {timing.key} short {since}" if timing else ""
        if timing is not None and key not in used:
            drafted += _ask(rules, timing.key, loan, key, now)
    return drafted


def _loans_that_lack() -> QuerySet[Loan]:
    """Loans of which something lacks that can still come, and whose student is not about to be
    asked; each with the day of the first of it.
    """
    waiting = Message.objects.filter(
        loan=OuterRef("pk"), occasion=Message.Occasion.SHORTFALL, state__in=UNSENT_MAILS
    )
    loans = Loan.objects.filter(stage__in=(LoanStage.RETURNED, LoanStage.LOST))
    loans = loans.annotate(short_since=Min("shortfalls__opened_at", filter=_ASKED_FOR))
    loans = loans.filter(~Exists(waiting), short_since__isnull=False)
    return loans.select_related("enrolment__student").order_by("pk")


def _ask(rules: Mapping[int, ReminderRule], rule: int, loan: Loan, key: str, now: datetime) -> bool:
    """Draft one mail; False where another worker was faster or the last shortfall has ended."""
    try:
        with transaction.atomic():
            loan = Loan.objects.select_for_update(of=("self",), no_key=True).get(pk=loan.pk)
            if not loan.shortfalls.filter(state__in=Shortfall.UNSETTLED).exists():
                return False
            message = draft(rules[rule].occasion, loan, at=now, rule_key=key)
            if rules[rule].automatic:
                approve_by_rule(message, at=now)
    except IntegrityError:
        return False
    return True
