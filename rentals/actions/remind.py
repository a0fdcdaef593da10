"""Drafting the reminders that are due. Nothing is written while the kit is on its way back."""

from __future__ import annotations

from datetime import date, datetime

from django.db import IntegrityError
from django.db.models import QuerySet
from django.utils import timezone

from rentals import transaction
from rentals.models import NOT_ON_ITS_WAY_BACK, Loan, LoanStage, Message, Practice, ReminderRule
from rentals.next_acts.occasions import OF_WHOLE_KITS
from rentals.post.reminder_days import LoanMoments, ReminderTiming, due_timing
from rentals.selectors.arrival import arrival_check_of
from rentals.selectors.cells import cell_outlook

from .approve import approve_by_rule
from .draft import draft

Moment = ReminderRule.Moment


def remind(*, now: datetime | None = None) -> int:
    """Draft every reminder that is due, and let those go whose rule says so; returns how many were
    drafted.

    Safe to run twice at once: the rule's key is unique in the database, and whoever comes second
    finds it taken.
    """
    now = now or timezone.now()
    today = timezone.localdate(now)
    of_what_is_away = ReminderRule.objects.filter(active=True).exclude(
        moment=Moment.AFTER_SHORTFALL
    )
    rules = {rule.pk: rule for rule in of_what_is_away}
    if not rules:
        return 0
    country = str(Practice.current().country or "")
    timings = [_timing(rule) for rule in rules.values()]
    cells_asked = any(rule.moment == Moment.BEFORE_RECHARGE for rule in rules.values())
    loans = list(_loans_away(with_cells=cells_asked))
    used_keys = _used_keys()
    drafted = 0
    for loan in loans:
        recharge_on = _recharge_on(loan, today) if cells_asked else None
        timing = due_timing(
            _fitting(timings, rules, loan), _moments(loan, recharge_on), country, today
        )
        if timing is None:
            continue
        rule = rules[timing.key]
        key = rule_key(rule, loan, recharge_on)
        if key not in used_keys:
            drafted += _remind(rule, loan, key, now)
    return drafted


def rule_key(rule: ReminderRule, loan: Loan, recharge_on: date | None = None) -> str:
    """What is used up when a rule has reminded of a loan; a loan that got another due date is
    reminded anew of that, and of its cells each time they may run low.
    """
    day = "" if rule.moment == Moment.AFTER_DISPATCH else f" due {loan.due_on}"
    if rule.moment == Moment.BEFORE_RECHARGE:
        day = f" cells {recharge_on}"
    return f"loan {loan.pk} rule {rule.pk}{day}"


def _loans_away(*, with_cells: bool) -> QuerySet[Loan]:
    away = Loan.objects.filter(NOT_ON_ITS_WAY_BACK, stage=LoanStage.AWAY)
    away = away.select_related("enrolment__student", "return_check").order_by("pk")
    if not with_cells:
        return away
    away = away.select_related("enrolment__student", "enrolment__run", "kit__kit_type")
    return away.prefetch_related("kit__parts__batterypack")


def _used_keys() -> set[str | None]:
    reminders = Message.objects.filter(loan__stage=LoanStage.AWAY, rule_key__isnull=False)
    return set(reminders.values_list("rule_key", flat=True))


def _timing(rule: ReminderRule) -> ReminderTiming:
    return ReminderTiming(rule.pk, rule.days, rule.moment, rule.working_days)


def _fitting(
    timings: list[ReminderTiming], rules: dict[int, ReminderRule], loan: Loan
) -> list[ReminderTiming]:
    """The rules that may remind of a loan: of the rest of a kit only those that ask for it."""
    if not hasattr(loan, "return_check"):
        return timings
    return [timing for timing in timings if rules[timing.key].occasion not in OF_WHOLE_KITS]


def _moments(loan: Loan, recharge_on: date | None) -> LoanMoments:
    return LoanMoments(loan.due_on, _local_day(loan.dispatched_at), recharge_on)


def _recharge_on(loan: Loan, today: date) -> date | None:
    outlook = cell_outlook(loan, today)
    return outlook.next_on(today) if outlook else None


def _local_day(moment: datetime | None) -> date | None:
    return timezone.localdate(moment) if moment else None


def _remind(rule: ReminderRule, loan: Loan, key: str, now: datetime) -> bool:
    """Draft one reminder; False where the loan has moved on, or another worker was faster."""
    try:
        with transaction.atomic():
            if not _still_away(loan):
                return False
            asks_arrival = rule.occasion == Message.Occasion.ARRIVED
            if asks_arrival and arrival_check_of(loan) is not None:
                return False
            message = draft(rule.occasion, loan, at=now, rule_key=key)
            if rule.automatic:
                approve_by_rule(message, at=now)
    except IntegrityError:
        return False  # another worker drafted it a moment ago
    return True


def _still_away(loan: Loan) -> bool:
    """Whether the loan, locked and read anew, still stands as it did when the list was made."""
    current = Loan.objects.select_for_update(no_key=True).get(pk=loan.pk)
    return (
        current.stage == LoanStage.AWAY
        and not current.on_its_way_back
        and current.due_on == loan.due_on
    )
