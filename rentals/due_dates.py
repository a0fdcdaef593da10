"""How far off a day is, in words and as the mark it gets: for days to post by and days due back."""

from __future__ import annotations

from datetime import date

from rentals.catalogues import gettext, ngettext
from rentals.counts import counted
from rentals.marks import Mark, Sign, mark_of

SOON_DAYS = 7


def count_of_days(days: int) -> str:
    """A number of days with its noun: ``1 day``, ``5 days``."""
    return counted(days, "day", "days")


def is_overdue(due_on: date, today: date) -> bool:
    """Whether a kit that is away should have been back before `today`."""
    return due_on < today


def due_words(day: date, today: date) -> str:
    """``overdue by 3 days``, ``due today``, ``due tomorrow``, ``due in 5 days``, in the language
    that is spoken now.
    """
    days = (day - today).days
    if days < 0:
        late = ngettext("overdue by {count} day", "overdue by {count} days", -days)
        return late.format(count=-days)
    if days < 2:
        return gettext("due tomorrow") if days else gettext("due today")
    return ngettext("due in {count} day", "due in {count} days", days).format(count=days)


def late_words(due_on: date, came_on: date) -> str:
    """How late a kit came back: ``3 days late``; empty where it came in time."""
    days = (came_on - due_on).days
    return f"{count_of_days(days)} late" if days > 0 else ""


def due_sign(day: date, today: date) -> Sign:
    """Overdue, due today, due soon (a week or less) or planned."""
    days = (day - today).days
    if days < 0:
        return Sign.OVERDUE
    if days == 0:
        return Sign.DUE_TODAY
    return Sign.DUE_SOON if days <= SOON_DAYS else Sign.PLANNED


def post_words(post_by: date, today: date) -> str:
    """How long there is until a parcel must be posted."""
    days = (post_by - today).days
    if days < 0:
        return f"post-by date passed {count_of_days(-days)} ago"
    return "post today" if days == 0 else f"post in {count_of_days(days)}"


def due_mark(day: date, today: date) -> Mark:
    """The mark of a day due back, in words."""
    return mark_of(due_sign(day, today), due_words(day, today))
