"""The calendar feed: days on which parcels must be posted, kits come back, and kits must be on the
bench.

It names runs, numbers and kit codes, and no student: whoever comes upon the private address learns
of no person.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from urllib.parse import urlsplit

import icalendar
from django.conf import settings
from django.utils import timezone

from rentals.models import OPEN_STAGES, CourseRun, Loan, LoanStage, Practice

from .days import working_days_from

# : Working days before posting on which kits are tested at the latest. Common practice, no
# published source.
BENCH_AHEAD = 2
#: Days that stay in the feed after they are over.
KEPT = timedelta(days=60)
PRODUCT = "-//Kitdesk//Desk calendar//EN"


@dataclass
class Day:
    """One all-day entry: what is to be done, for which run, with which kits."""

    kind: str
    on: date
    run: CourseRun
    kits: list[str] = field(default_factory=list)
    untested: int = 0


def days_ahead(*, today: date | None = None) -> list[Day]:
    """All entries, by date: post-by and bench days of loans not yet posted, return-by days of those
    out or to go out.

    A run whose kits are not assigned yet has its days all the same, without kits.
    """
    today = today or timezone.localdate()
    country = str(Practice.current().country or "")
    found: dict[tuple[str, date, int], Day] = {}

    def entry(kind: str, on: date, run: CourseRun) -> Day:
        return found.setdefault((kind, on, run.pk), Day(kind, on, run))

    for run in CourseRun.objects.filter(return_by__gte=today - KEPT):
        entry("post", run.post_by, run)
        entry("bench", working_days_from(run.post_by, -BENCH_AHEAD, country), run)
        entry("return", run.return_by, run)
    for loan in _loans():
        run = loan.enrolment.run
        if loan.stage in (LoanStage.ASSIGNED, LoanStage.PACKED):
            entry("post", loan.post_by, run).kits.append(loan.kit.code)
        if loan.stage == LoanStage.ASSIGNED:
            bench = entry("bench", working_days_from(loan.post_by, -BENCH_AHEAD, country), run)
            bench.kits.append(loan.kit.code)
            bench.untested += not loan.kit.cleared
        entry("return", loan.due_on, run).kits.append(loan.kit.code)
    return sorted(found.values(), key=lambda day: (day.on, day.kind, day.run.name))


def _loans() -> Iterable[Loan]:
    rows = Loan.objects.filter(stage__in=OPEN_STAGES).exclude(stage=LoanStage.CHECK)
    return rows.select_related("kit", "enrolment__run").order_by("kit__code")


def feed_bytes(days: Iterable[Day], *, name: str, now: datetime | None = None) -> bytes:
    """The feed as iCalendar (RFC 5545): one all-day VEVENT for each day, with a UID that stays the
    same.
    """
    now = now or timezone.now()
    calendar = icalendar.Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", name)
    host = urlsplit(settings.SITE_URL).hostname or "localhost"
    for day in days:
        event = icalendar.Event()
        event.add("uid", f"{day.kind}-{day.run.pk}-{day.on:%Y%m%d}@{host}")
        event.add("dtstamp", now)
        event.add("dtstart", day.on)
        event.add("dtend", day.on + timedelta(days=1))
        event.add("summary", _summary(day))
        if day.kits:
            event.add("description", "Kits: " + ", ".join(day.kits))
        event.add("url", settings.SITE_URL + day.run.get_absolute_url())
        event.add("transp", "TRANSPARENT")
        calendar.add_component(event)
    return calendar.to_ical()


def _summary(day: Day) -> str:
    count = len(day.kits)
    if day.kind == "post":
        return f"Post {_parcels(count)}: {day.run.name}"
    if day.kind == "bench":
        waits = f", {day.untested} not cleared" if day.untested else ""
        return f"Kits tested by today{waits}: {day.run.name}"
    return f"Kits due back{f' ({count})' if count else ''}: {day.run.name}"


def _parcels(count: int) -> str:
    return {0: "parcels", 1: "1 parcel"}.get(count, f"{count} parcels")
