"""Which tables the database reads from end to end for the queries of pages: by its plans, not by
its rows, so that a few rows are enough.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.apps import apps
from django.db import connection

#: Tables that have a row for each act, loan, student, mail or capture.
GROWING = {
    apps.get_model(label)._meta.db_table
    for label in (
        "rentals.Event",
        "rentals.Loan",
        "rentals.LoanStep",
        "rentals.PackingLine",
        "rentals.ReturnLine",
        "rentals.Message",
        "rentals.MessageStep",
        "rentals.Entry",
        "rentals.Student",
        "rentals.Enrolment",
        "rentals.SearchWord",
        "rentals.LogLine",
        "rentals.StudentLink",
        "readiness.Capture",
        "readiness.Verdict",
        "django_tasks_database.DBTaskResult",
    )
}
_SCAN = re.compile(r"^SCAN (\S+)(?: USING (?:COVERING )?INDEX (\S+))?")
_NAMED = re.compile(r'(?:FROM|JOIN) "(\w+)"(?: ([A-Z]\d+))?')
Asked = dict[str, tuple[Any, ...]]


@contextmanager
def asked_meanwhile() -> Iterator[Asked]:
    """Collects what is selected, each text once, with what was put into it."""
    asked: Asked = {}

    def collect(execute: Any, sql: str, params: Any, many: bool, context: Any) -> Any:
        if sql.startswith("SELECT") and not many:
            asked.setdefault(sql, tuple(params or ()))
        return execute(sql, params, many, context)

    with connection.execute_wrapper(collect):
        yield asked


def forget_figures() -> None:
    """Have SQLite plan without figures of its tables: it takes each for a large one then, and an
    index wherever there is one that helps.
    """
    with connection.cursor() as cursor:
        cursor.execute("ANALYZE")
        cursor.execute("DELETE FROM sqlite_stat1")
        cursor.execute("ANALYZE sqlite_schema")


def read_whole(sql: str, params: tuple[Any, ...]) -> set[str]:
    """The growing tables that a query reads from end to end; not one that is read in the order of
    its rows until enough are found.
    """
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {sql}", params)
        steps = [row[3] for row in cursor.fetchall()]
    if " LIMIT " in sql and not any("TEMP B-TREE FOR ORDER" in step for step in steps):
        return set()
    scans = [found.groups() for step in steps if (found := _SCAN.match(step))]
    return {table for scan in scans for table in _tables_of(sql, *scan)} & GROWING


def _tables_of(sql: str, name: str, index: str | None) -> set[str]:
    """The table that is scanned under a name, told by the index that is taken; without one two
    parts of a query may each have a table of that name.
    """
    named = {(alias or table, table) for table, alias in _NAMED.findall(sql)}
    tables = {table for alias, table in named if alias == name}
    if index is None or len(tables) < 2:
        return tables
    with connection.cursor() as cursor:
        cursor.execute("SELECT tbl_name FROM sqlite_master WHERE name = %s", [index])
        return {table for (table,) in cursor.fetchall()}
