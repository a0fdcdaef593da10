"""What a factory writes when nothing is asked of it: by the real acts the first time in a process,
then the same rows again, for a tenth of the time. Most tests begin with such a kit or loan.

The rows keep the numbers they had, so codes, hashes and sentences fit as they are, and the log gets
its lines anew. So they are put back only where no row of their tables has one of these numbers or
a later one; else the acts do it, and what they write is kept as well, for the next test that is as
far. Nor are they put back, or kept, where the acts could write something else: with a setting, a
wording or a webhook of the test's own, at another time, inside another act.
"""

from __future__ import annotations

import functools
import pickle
import time
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime, timedelta
from typing import Any, NamedTuple, TypeVar

from django.conf import UserSettingsHolder, settings
from django.db import connection, models
from django.db import transaction as plain_transaction
from django.db.backends.utils import CursorWrapper
from django.utils import timezone

from readiness.models import BenchPlan
from rentals.models import (
    DETAIL_MODELS,
    Attachment,
    ContentsLine,
    CourseRun,
    ElectrodeBatch,
    Enrolment,
    Entry,
    Event,
    Kit,
    KitType,
    Lead,
    Loan,
    LogLine,
    MailWording,
    Message,
    MessageStep,
    PackingLine,
    Part,
    Practice,
    SearchWord,
    StockItem,
    Student,
    Webhook,
)
from rentals.noted import under_way
from rentals.seals.chain import LogFact, append

WRITTEN: tuple[type[models.Model], ...] = (
    KitType,
    StockItem,
    ElectrodeBatch,
    ContentsLine,
    BenchPlan,
    Kit,
    Part,
    *DETAIL_MODELS.values(),
    Lead,
    CourseRun,
    Student,
    Enrolment,
    Loan,
    Entry,
    PackingLine,
    Message,
    MessageStep,
    Attachment,
    Event,
    SearchWord,
)
"""Tables that the factories write; what of them they read is their own."""
READ = (Practice, MailWording, Webhook)
"""Tables of which any row may change what they write."""
OWN_OF_EACH_TEST = {"MEDIA_ROOT", "KITDESK_OUTBOX", "KITDESK_ERASURES", "KITDESK_LOG_HEADS"}
"""Settings that every test has of its own."""
FRESH = timedelta(minutes=2)
"""Rows older than that are not put back: to a test they would not be of now."""
AT_ONCE = timedelta(seconds=5)

Made = TypeVar("Made", bound=models.Model)
Numbers = dict[type[models.Model], int]


class Kept(NamedTuple):
    """What one call wrote and returned; the numbers before its first row in each table, and of its
    last.
    """

    before: Numbers
    last: Numbers
    inserts: list[tuple[str, list[Sequence[Any]]]]
    facts: list[LogFact]
    made: bytes
    at: datetime


class Shelf:
    """What the calls of one factory wrote lately, in this process."""

    def __init__(self) -> None:
        self._kept: list[Kept] = []

    def fitting(self, last: Numbers) -> Kept | None:
        """The one of the lowest numbers that come after all rows that are there."""
        now = timezone.now()
        self._kept = [kept for kept in self._kept if now - kept.at < FRESH]
        fit = [kept for kept in self._kept if all(kept.before[on] >= last[on] for on in last)]
        return min(fit, key=lambda kept: kept.before[Event], default=None)

    def keep(self, kept: Kept) -> None:
        """Put it with the others."""
        self._kept.append(kept)


def replayed(factory: Callable[..., Made]) -> Callable[..., Made]:
    """Have the rows of a factory called without a kit, type or enrolment put back. Whatever else it
    is asked for has a shelf of its own.
    """
    shelves: dict[Any, Shelf] = {}

    @functools.wraps(factory)
    def made(*given: Any, **asked: Any) -> Made:
        rows_given = [*given, *(value for value in asked.values() if not isinstance(value, bool))]
        if any(value is not None for value in rows_given) or not _as_usual():
            return factory(*given, **asked)
        last = _last_numbers()
        if last is None:
            return factory(*given, **asked)
        shelf = shelves.setdefault((date.today(), *sorted(asked.items())), Shelf())
        if kept := shelf.fitting(last):
            return _put_back(kept)
        return _kept_in(shelf, last, lambda: factory(*given, **asked))

    return made


def _as_usual() -> bool:
    """Whether time, settings and transaction are those of a test that set nothing."""
    return _clock_is_right() and not under_way() and set(_own_settings()) <= OWN_OF_EACH_TEST


_STARTED = datetime.now(UTC), time.monotonic()
_NOW = timezone.now


def _clock_is_right() -> bool:
    began, counter = _STARTED
    passed = timedelta(seconds=time.monotonic() - counter)
    return timezone.now is _NOW and abs(timezone.now() - began - passed) < AT_ONCE


def _own_settings() -> list[str]:
    names: list[str] = []
    holder = settings._wrapped
    while isinstance(holder, UserSettingsHolder):
        names += [name for name in vars(holder) if name.isupper()]
        holder = holder.default_settings
    return names


def _name(model: type[models.Model]) -> str:
    return connection.ops.quote_name(model._meta.db_table)


def _number(model: type[models.Model]) -> str:
    return connection.ops.quote_name(model._meta.pk.column)


def _last_numbers() -> Numbers | None:
    """The last number of each table, 0 where it is empty; None where a row may change what is
    written.
    """
    parts = [f"SELECT MAX({_number(model)}) FROM {_name(model)}" for model in WRITTEN]
    parts += [f"SELECT COUNT(*) FROM {_name(model)}" for model in READ]
    with connection.cursor() as cursor:
        cursor.execute("SELECT " + ", ".join(f"({part})" for part in parts))
        found = cursor.fetchone()
        if any(found[len(WRITTEN) :]):
            return None
        last = dict(zip(WRITTEN, (number or 0 for number in found), strict=False))
        if not any(last.values()):
            _count_from_one(cursor)
    return last


def _kept_in(shelf: Shelf, last: Numbers, make: Callable[[], Made]) -> Made:
    """What `make` makes, kept if all of it is new rows and nothing waits for the commit."""
    waiting = len(connection.run_on_commit)
    lines = LogLine.objects.order_by("-position").values_list("position", flat=True)
    line = lines.first() or 0
    made = make()
    new = LogLine.objects.filter(position__gt=line, row__gt=0).order_by("position")
    facts = [LogFact(*fact) for fact in new.values_list("table", "row", "digest")]
    by_name = {model._meta.label_lower: number for model, number in last.items()}
    if len(connection.run_on_commit) == waiting and all(
        fact.table in by_name and fact.row > by_name[fact.table] for fact in facts
    ):
        after, inserts = _written_since(last)
        shelf.keep(Kept(last, after, inserts, facts, pickle.dumps(made), timezone.now()))
    return made


def _written_since(last: Numbers) -> tuple[Numbers, list[tuple[str, list[Sequence[Any]]]]]:
    """The last numbers now, and what puts the rows after `last` back: on PostgreSQL as one text,
    sent at once.
    """
    after: Numbers = {}
    inserts: list[tuple[str, list[Sequence[Any]]]] = []
    with connection.cursor() as cursor:
        for model, number in last.items():
            quoted = connection.ops.quote_name
            columns = [quoted(field.column) for field in model._meta.local_concrete_fields]
            cursor.execute(
                f"SELECT {_number(model)}, {', '.join(columns)} FROM {_name(model)}"
                f" WHERE {_number(model)} > %s ORDER BY {_number(model)}",
                [number],
            )
            if rows := cursor.fetchall():
                after[model] = rows[-1][0]
                one = ", ".join(["%s"] * len(columns))
                insert = f"INSERT INTO {_name(model)} ({', '.join(columns)}) VALUES ({one})"
                inserts.append((insert, [row[1:] for row in rows]))
        if connection.vendor == "postgresql":
            texts = [cursor.mogrify(insert, row) for insert, rows in inserts for row in rows]
            inserts = [("; ".join(texts), [])]
    return after, inserts


def _put_back(kept: Kept) -> Any:
    with plain_transaction.atomic(), connection.cursor() as cursor:
        for insert, rows in kept.inserts:
            if rows:
                cursor.executemany(insert, rows)
            else:
                cursor.execute(insert)
        _count_on(cursor, kept)
        append(kept.facts)
    return pickle.loads(kept.made)


def _sequences() -> dict[type[models.Model], str]:
    """PostgreSQL's counters of the written tables; SQLite counts by the rows."""
    if connection.vendor != "postgresql":
        return {}
    counted = (model for model in WRITTEN if isinstance(model._meta.pk, models.AutoField))
    return {
        model: f"pg_get_serial_sequence('{_name(model)}', '{model._meta.pk.column}')"
        for model in counted
    }


def _count_from_one(cursor: CursorWrapper) -> None:
    """A rollback leaves PostgreSQL's counters where they are; SQLite takes them back."""
    if starts := [f"setval({counter}, 1, false)" for counter in _sequences().values()]:
        cursor.execute(f"SELECT {', '.join(starts)}")


def _count_on(cursor: CursorWrapper, kept: Kept) -> None:
    """The next row comes after those put back, as it came after those that the acts wrote."""
    moves = [
        f"setval({counter}, {kept.last[model]})"
        for model, counter in _sequences().items()
        if model in kept.last
    ]
    if moves:
        cursor.execute(f"SELECT {', '.join(moves)}")
