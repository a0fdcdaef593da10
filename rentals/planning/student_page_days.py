"""How long a student's page can be opened."""

from __future__ import annotations

from datetime import date, timedelta


def page_ends_on(closed_on: date | None, grace_days: int) -> date | None:
    """The last day on which the page of a loan opens: some days after the loan ended; None while
    the loan is open, however late it is.
    """
    return None if closed_on is None else closed_on + timedelta(days=grace_days)


def page_has_ended(closed_on: date | None, grace_days: int, today: date) -> bool:
    """Whether that day is over."""
    last_day = page_ends_on(closed_on, grace_days)
    return last_day is not None and today > last_day
