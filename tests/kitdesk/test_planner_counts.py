"""What SQLite's planner knows of the tables, so that it takes the index that leads to few rows."""

import pytest
from django.core.cache import cache
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from kitdesk.planner_counts import count_for_planner
from rentals.selectors.kits import kits_listed, with_open_loans
from tests.factories import KitTypeFactory
from tests.scale.fleet import grow

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif("connection.vendor != 'sqlite'", reason="PostgreSQL counts by itself"),
]


@pytest.fixture(autouse=True)
def _cache_in_the_database():
    call_command("createcachetable", verbosity=0)
    cache.clear()


def _counted() -> int:
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM sqlite_master WHERE name LIKE 'sqlite_stat%'")
        if not cursor.fetchone()[0]:
            return 0
        cursor.execute("SELECT count(*) FROM sqlite_stat1 WHERE tbl = 'rentals_kittype'")
        return int(cursor.fetchone()[0])


def _plan_of_open_loans() -> str:
    with CaptureQueriesContext(connection) as queries:
        list(with_open_loans(kits_listed())[:50])
    (asked,) = [query["sql"] for query in queries if 'FROM "rentals_loan"' in query["sql"]]
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {asked}")
        return " ".join(str(step[3]) for step in cursor.fetchall())


def test_open_loans_of_kits_are_not_found_by_their_stage_once_rows_are_counted(monkeypatch):
    with monkeypatch.context() as patched:
        patched.setattr("tests.scale.fleet.count_for_planner", lambda: None)
        grow(96)
    assert "(stage=?)" in _plan_of_open_loans()
    count_for_planner()
    assert "(stage=?)" not in _plan_of_open_loans()


@pytest.mark.parametrize("command", ["tick", "prepare"])
def test_they_are_counted_at_every_start_and_by_the_hour(command, monkeypatch):
    KitTypeFactory()
    assert not _counted()
    monkeypatch.setattr("kitdesk.management.commands.prepare.call_command", lambda *_, **__: None)
    call_command(command, verbosity=0)
    assert _counted()


def test_no_value_of_a_row_is_noted():
    KitTypeFactory()
    count_for_planner()
    with connection.cursor() as cursor:
        cursor.execute("SELECT name FROM sqlite_master WHERE name LIKE 'sqlite_stat%'")
        noted = {name for (name,) in cursor.fetchall()} - {"sqlite_stat1"}
        for table in noted:
            cursor.execute(f"SELECT count(*) FROM {table}")
            assert cursor.fetchone()[0] == 0, table
