"""Triggers that mark a table anew with every change of its rows, whoever makes it, so that what was
worked out of some tables may be kept until one of them changes: see
`rentals/selectors/kept_answers.py`.

A mark is changed within the transaction that changes the rows: it is seen when they are. On
PostgreSQL each session draws marks in rows of its own, or writers would wait for each other; the
marks of all sessions together are the table's.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterator, Mapping
from typing import Any

from django.apps import apps
from django.db import connection, connections, transaction
from django.db.models import Sum

from rentals.known_query import KnownQuery
from rentals.models import TableMark
from rentals.quiet_changes import QUIET_CHANGES, QuietChange, every_change

#: Apps of others: nothing is kept of their tables, and some are written at every request.
_OF_OTHERS = frozenset(
    {"account", "admin", "contenttypes", "django_tasks_database", "mfa", "sessions"}
)
#: Written with every act, many rows at a time, and read for themselves only.
_LEFT_OUT = frozenset(
    {
        "rentals.LogHead",
        "rentals.LogLine",
        "rentals.SearchWord",
        "rentals.SubmittedForm",
        "rentals.TableMark",
    }
)
_EVENTS = ("insert", "update", "delete")
_PREFIX = "marks_"
#: Of PostgreSQL: the trigger's name on every table, and of its function.
_NAME = "marks_its_table"


def marks_now() -> dict[str, Any]:
    """The mark of every table that has one, by its name in the database; one query. What has quiet
    changes has two: see `rentals/quiet_changes.py`.
    """
    return dict(_MARKS.rows())


_MARKS = KnownQuery(lambda: TableMark.objects.order_by().values_list("table").annotate(Sum("mark")))


def marked_tables() -> set[str]:
    """Names in the database of the tables that are to be marked."""
    return {
        model._meta.db_table
        for model in apps.get_models(include_auto_created=True)
        if model._meta.managed and not model._meta.proxy
        if model._meta.app_label not in _OF_OTHERS and model._meta.label not in _LEFT_OUT
    }


def put_up(using: str = "default") -> None:
    """Make the triggers where they are not, and mark every table anew; safe to repeat. No more
    than a return where the table of marks is not there yet.
    """
    database = connections[using]
    there = set(database.introspection.table_names())
    if TableMark._meta.db_table not in there:
        return
    tables = sorted(marked_tables() & there)
    make = _on_postgres if database.vendor == "postgresql" else _on_sqlite
    with transaction.atomic(using=using):
        with database.cursor() as cursor:
            for statement in make(cursor, tables):
                cursor.execute(statement)
        marks = TableMark.objects.using(using)
        marks.all().delete()
        marks.bulk_create(TableMark(table=name, mark=_drawn()) for name in _names(tables))


def take_down(using: str = "default") -> None:
    """Drop the triggers of SQLite, over which a migration that rebuilds a table stumbles; on
    PostgreSQL they stand in nobody's way.
    """
    database = connections[using]
    if database.vendor != "sqlite":
        return
    with database.cursor() as cursor:
        for name in _triggers(cursor):
            cursor.execute(f"DROP TRIGGER {database.ops.quote_name(name)}")


def put_up_after_migrating(using: str, **_: Any) -> None:
    """The same as a receiver of `post_migrate`."""
    put_up(using)


def take_down_before_migrating(using: str, **_: Any) -> None:
    """The same as a receiver of `pre_migrate`."""
    take_down(using)


def forget_ended_sessions() -> None:
    """Drop the marks of sessions that have ended, which would grow ever more; on SQLite there are
    none. Their tables are marked anew at that, or an old answer could seem to hold again.
    """
    if connection.vendor != "postgresql":
        return
    with connection.cursor() as cursor:
        cursor.execute("SELECT pid FROM pg_stat_activity")
        alive = {0, *(pid for (pid,) in cursor.fetchall())}
    with transaction.atomic():
        ended = TableMark.objects.exclude(session__in=alive).select_for_update(skip_locked=True)
        rows: Mapping[int, str] = dict(ended.values_list("pk", "table"))
        for table in sorted(set(rows.values())):
            TableMark.objects.filter(table=table, session=0).update(mark=_drawn())
        TableMark.objects.filter(pk__in=rows).delete()


def _drawn() -> int:
    return secrets.randbits(63)


def _triggers(cursor: Any) -> set[str]:
    cursor.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'")
    return {name for (name,) in cursor.fetchall() if name.startswith(_PREFIX)}


def _names(tables: list[str]) -> list[str]:
    """Of all marks."""
    return [*tables, *(every_change(table) for table in tables if table in QUIET_CHANGES)]


def _on_sqlite(cursor: Any, tables: list[str]) -> list[str]:
    there = _triggers(cursor)
    anew = f"UPDATE {TableMark._meta.db_table} SET mark = random()"  # noqa: S608
    # An update, for the conflict clause of the outer statement would rule over that of an insert.
    return [
        f"CREATE TRIGGER {_PREFIX}{table}_{event} AFTER {event} ON {table} BEGIN"
        f" {anew} WHERE session = 0 AND ({_drawn_by(table, event)}); END"
        for table in tables
        for event in _EVENTS
        if f"{_PREFIX}{table}_{event}" not in there
    ]


def _drawn_by(table: str, event: str) -> str:
    """Which marks a change of a row draws anew, as a condition on SQLite."""
    own = f"\"table\" = '{table}'"
    quiet = QUIET_CHANGES.get(table)
    if quiet is None:
        return own
    if quiet.statement == event.upper():
        own = f"{own} AND ({quiet.loud_row})"
    return f"\"table\" = '{every_change(table)}' OR {own}"


def _on_postgres(cursor: Any, tables: list[str]) -> Iterator[str]:
    cursor.execute(
        "SELECT relname FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid WHERE tgname = %s",
        [_NAME],
    )
    there = {name for (name,) in cursor.fetchall()}
    yield _function(_NAME, _anew("TG_TABLE_NAME"))
    for table in tables:
        if table in QUIET_CHANGES:
            yield from _two_marks(QUIET_CHANGES[table])
        elif table not in there:
            yield (
                f"CREATE TRIGGER {_NAME} AFTER INSERT OR UPDATE OR DELETE OR TRUNCATE ON {table}"
                f" FOR EACH STATEMENT EXECUTE FUNCTION {_NAME}()"
            )


def _two_marks(quiet: QuietChange) -> Iterator[str]:
    """A statement that may be quiet has a trigger of its own, which sees its rows."""
    table, seen = quiet.table, "NEW TABLE AS now"
    if quiet.statement == "UPDATE":
        seen = f"OLD TABLE AS was {seen}"
    others = " OR ".join({"INSERT", "UPDATE", "DELETE", "TRUNCATE"} - {quiet.statement})
    own, every = _anew(f"'{table}'"), _anew(f"'{every_change(table)}'")
    for name, when, rows, loud in (
        (_NAME, others, "", "true"),
        (f"{_NAME}_if_loud", quiet.statement, f"REFERENCING {seen}", quiet.loud_rows),
    ):
        function = f"{name}_{table}"
        yield _function(function, every, f"IF {loud} THEN {own} END IF;")
        yield f"DROP TRIGGER IF EXISTS {name} ON {table}"
        yield (
            f"CREATE TRIGGER {name} AFTER {when} ON {table} {rows}"
            f" FOR EACH STATEMENT EXECUTE FUNCTION {function}()"
        )


def _anew(name: str) -> str:
    """Draws one mark anew, in a row of the session's own."""
    return (
        f'INSERT INTO {TableMark._meta.db_table} ("table", session, mark) VALUES'  # noqa: S608
        f" ({name}, pg_backend_pid(), hashtextextended(gen_random_uuid()::text, 0))"
        ' ON CONFLICT ("table", session) DO UPDATE SET mark = EXCLUDED.mark;'
    )


def _function(name: str, *does: str) -> str:
    return (
        f"CREATE OR REPLACE FUNCTION {name}() RETURNS trigger LANGUAGE plpgsql AS"
        f" $$ BEGIN {' '.join(does)} RETURN NULL; END $$"
    )
