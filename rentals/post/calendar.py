"""The calendar feed: days on which parcels must be posted, kits come back, and kits must be on the
bench.

It names runs, numbers and kit codes, and no student: whoever comes upon the private address learns
of no person.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from functools import lru_cache

import icalendar

from rentals.counts import counted
from rentals.planning.workdays import working_days_from

#: Working days before posting on which kits are tested at the latest. Common practice, no
#: published source.
BENCH_AHEAD = 2
ONE_DAY = timedelta(days=1)
#: How often a calendar is asked to look again: every hour, once in each of two spellings.
REFRESH = timedelta(hours=1)
#: They name kits and runs, and nobody.
ENTRIES_KEPT = 1000
END = b"END:VCALENDAR"
NEVER = datetime(2000, 1, 1, tzinfo=UTC)
PRODUCT = "-//Kitdesk//Desk calendar//EN"


@dataclass(frozen=True)
class RunDates:
    """A course run with its days; ``key`` tells runs of one name apart, ``path`` is its page.
    ``changed_at`` is when its days, or anything about its kits, changed last.
    """

    key: int
    name: str
    path: str
    post_by: date
    return_by: date
    changed_at: datetime = NEVER


@dataclass(frozen=True)
class LoanDates:
    """Kits that are out or to go out, with their own days: a loan may differ from its run.

    ``to_post`` while it stands here, ``to_test`` while it is not packed yet.
    """

    run: RunDates
    kit_codes: tuple[str, ...]
    post_by: date
    due_on: date
    to_post: bool
    to_test: bool
    cleared: bool


_WORDS = {"post": "post parcels", "bench": "kits tested", "return": "kits due back"}


@dataclass
class DeskDay:
    """One all-day entry: what is to be done (``post``, ``bench``, ``return``), for which run, with
    which kits; ``untested`` counts those of them that are not cleared; ``own`` where it is the
    run's day, not one agreed with a student.
    """

    kind: str
    on: date
    run: RunDates
    kits: list[str] = field(default_factory=list)
    untested: int = 0
    own: bool = True

    @property
    def words(self) -> str:
        """What is to be done, in a column of a list."""
        return _WORDS[self.kind]


def desk_days(runs: Iterable[RunDates], loans: Iterable[LoanDates], country: str) -> list[DeskDay]:
    """All entries, by date: post-by and bench days of loans not yet posted, return-by days of those
    out or to go out.

    A run whose kits are not assigned yet has its days all the same, without kits.
    """
    days: dict[tuple[str, date, int], DeskDay] = {}

    def entry(kind: str, on: date, run: RunDates) -> DeskDay:
        own = on == _own_day(kind, run, country)
        return days.setdefault((kind, on, run.key), DeskDay(kind, on, run, own=own))

    for run in runs:
        entry("post", run.post_by, run)
        entry("bench", bench_day(run.post_by, country), run)
        entry("return", run.return_by, run)
    for loan in loans:
        if loan.to_post:
            entry("post", loan.post_by, loan.run).kits.extend(loan.kit_codes)
        if loan.to_test:
            day = entry("bench", bench_day(loan.post_by, country), loan.run)
            day.kits.extend(loan.kit_codes)
            day.untested += 0 if loan.cleared else len(loan.kit_codes)
        entry("return", loan.due_on, loan.run).kits.extend(loan.kit_codes)
    for day in days.values():
        day.kits.sort()
    return sorted(days.values(), key=lambda day: (day.on, day.kind, day.run.name))


def _own_day(kind: str, run: RunDates, country: str) -> date:
    if kind == "bench":
        return bench_day(run.post_by, country)
    return run.post_by if kind == "post" else run.return_by


def bench_day(post_by: date, country: str) -> date:
    """The working day on which a kit is tested at the latest before it is posted."""
    return working_days_from(post_by, -BENCH_AHEAD, country)


def feed_bytes(days: Iterable[DeskDay], *, name: str, site_url: str, desk: str) -> bytes:
    """The feed as iCalendar (RFC 5545, RFC 7986): one all-day VEVENT for each day. The same days
    give the same bytes. ``site_url`` is the desk's address without a slash at its end; ``desk``
    tells desks apart and stays when that address changes.
    """
    calendar = icalendar.Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("name", name)
    calendar.add("x-wr-calname", name)
    calendar.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", "PT1H")
    head, end = calendar.to_ical().rsplit(END, 1)
    return b"".join((head, *(_entry(day, site_url, desk) for day in days), END, end))


def _entry(day: DeskDay, site_url: str, desk: str) -> bytes:
    # A run's own day keeps its entry when it moves; a day agreed with a student is one of its own.
    on = "" if day.own else f"-{day.on:%Y%m%d}"
    uid = f"{day.kind}-{day.run.key}{on}@{desk}"
    kits = "Kits: " + ", ".join(day.kits) if day.kits else ""
    return _event(uid, day.on, day.run.changed_at, _summary(day), kits, site_url + day.run.path)


@lru_cache(maxsize=ENTRIES_KEPT)
def _event(
    uid: str, on: date, changed_at: datetime, summary: str, description: str, url: str
) -> bytes:
    """One VEVENT. Calendars ask every hour for what has hardly changed, so it is kept."""
    event = icalendar.Event()
    event.add("uid", uid)
    event.add("dtstamp", changed_at)
    event.add("last-modified", changed_at)
    event.add("dtstart", on)
    event.add("dtend", on + ONE_DAY)
    event.add("summary", summary)
    if description:
        event.add("description", description)
    event.add("url", url)
    event.add("transp", "TRANSPARENT")
    return event.to_ical()


def _summary(day: DeskDay) -> str:
    count = len(day.kits)
    if day.kind == "post":
        return f"Post {_parcels(count)}: {day.run.name}"
    if day.kind == "bench":
        uncleared = f", {day.untested} not cleared" if day.untested else ""
        return f"Kits tested by today{uncleared}: {day.run.name}"
    kits = f" ({count})" if count else ""
    return f"Kits due back{kits}: {day.run.name}"


def _parcels(count: int) -> str:
    return counted(count, "parcel", "parcels") if count else "parcels"
