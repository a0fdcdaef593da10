"""Which rule has its word on a loan, on which day; no database."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from rentals.models import ReminderRule
from rentals.post.reminder_days import (
    AFTER_DISPATCH,
    AFTER_DUE,
    AFTER_SHORTFALL,
    BEFORE_DUE,
    BEFORE_RECHARGE,
    STALE,
    LoanMoments,
    ReminderTiming,
    due_timing,
    reminder_day,
)

#: A Wednesday without public holidays around it.
DUE = date(2027, 6, 16)
AWAY = LoanMoments(DUE, dispatched_on=DUE - timedelta(days=60))
EARLY = ReminderTiming(1, 7, BEFORE_DUE)
LATE = ReminderTiming(2, 1, AFTER_DUE)
VERY_LATE = ReminderTiming(3, 14, AFTER_DUE)
ARRIVED = ReminderTiming(4, 5, AFTER_DISPATCH)


def test_the_moments_are_those_that_setup_offers():
    moments = {BEFORE_DUE, AFTER_DUE, AFTER_DISPATCH, BEFORE_RECHARGE, AFTER_SHORTFALL}
    assert moments == set(ReminderRule.Moment.values)


@pytest.mark.parametrize(
    ("timing", "day"),
    [
        (EARLY, DUE - timedelta(days=7)),
        (LATE, DUE + timedelta(days=1)),
        # Four days before is a Saturday: the Friday before it; three after a Saturday: the Monday.
        (ReminderTiming(5, 4, BEFORE_DUE), date(2027, 6, 11)),
        (ReminderTiming(6, 3, AFTER_DUE), date(2027, 6, 21)),
        (ReminderTiming(7, 3, AFTER_DUE, working_days=True), date(2027, 6, 21)),
        (ReminderTiming(8, 3, BEFORE_DUE, working_days=True), date(2027, 6, 11)),
    ],
)
def test_a_reminder_falls_on_a_working_day(timing, day):
    assert reminder_day(timing, AWAY, "DE") == day


def test_a_loan_that_was_not_posted_has_no_day_after_posting():
    assert reminder_day(ARRIVED, LoanMoments(DUE), "DE") is None
    assert due_timing([ARRIVED], LoanMoments(DUE), "DE", DUE) is None


def test_a_reminder_of_the_cells_counts_from_the_day_they_may_run_low():
    timing = ReminderTiming(9, 3, BEFORE_RECHARGE)
    low_on = date(2027, 5, 13)
    away = LoanMoments(DUE, recharge_on=low_on)
    assert reminder_day(timing, away, "DE") == date(2027, 5, 10)
    assert due_timing([timing], away, "DE", date(2027, 5, 10)) == timing
    assert due_timing([timing], away, "DE", date(2027, 5, 9)) is None
    assert due_timing([timing], LoanMoments(DUE), "DE", low_on) is None


@pytest.mark.parametrize(
    ("offset", "timing"),
    [(-8, None), (-7, EARLY), (0, EARLY), (1, LATE), (13, LATE), (14, VERY_LATE)],
)
def test_the_latest_rule_whose_day_has_come_has_its_word(offset, timing):
    today = DUE + timedelta(days=offset)
    assert due_timing([EARLY, LATE, VERY_LATE], AWAY, "DE", today) == timing


def test_did_it_arrive_is_not_asked_after_two_weeks_nor_after_the_due_day():
    sent = date(2027, 3, 1)
    loan = LoanMoments(DUE, sent)
    day = reminder_day(ARRIVED, loan, "DE")
    assert due_timing([ARRIVED], loan, "DE", day + STALE) == ARRIVED
    assert due_timing([ARRIVED], loan, "DE", day + STALE + timedelta(days=1)) is None
    soon_due = LoanMoments(day, sent)
    assert due_timing([ARRIVED], soon_due, "DE", day + timedelta(days=1)) is None
