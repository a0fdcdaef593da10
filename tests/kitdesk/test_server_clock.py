"""The processor time of PostgreSQL's own process is counted with a page's, and it is said where it
cannot be.
"""

from contextlib import nullcontext
from functools import partial
from types import SimpleNamespace

import pytest
from django.db import connection

from kitdesk import desk_speed, desk_table, server_clock

pytestmark = pytest.mark.django_db

WORK = "SELECT sum(sqrt(n)) FROM generate_series(1, 200000) AS numbers(n)"
HERE = "127.0.0.1"


def needs_server():
    if connection.vendor != "postgresql":
        pytest.skip("SQLite has no server")
    clock = server_clock.server_clock()
    if clock is None:
        pytest.skip("the server is on another machine")
    return clock


def test_work_of_the_server_is_counted():
    clock = needs_server()
    before = clock()
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
        little = clock() - before
        cursor.execute(WORK)
    assert clock() - before - little > little > 0


def test_a_page_is_charged_with_the_servers_work():
    clock = needs_server()

    def opened(words):
        with connection.cursor() as cursor:
            cursor.execute(words)
        return 1

    dear, empty = partial(opened, WORK), partial(opened, "SELECT 1")
    cost = desk_speed._cost(desk_speed.DeskPage("dear", "/dear/"), dear, empty, clock, 3)
    assert 0 < cost.server_ms < cost.ms
    # Nearly all that was done was done by the server.
    assert cost.server_ms > cost.ms / 2


@pytest.mark.any_database
def test_another_machines_server_is_not_taken_for_a_process_of_this_one(monkeypatch):
    def clock(vendor, process, address):
        cursor = SimpleNamespace(execute=lambda words: None, fetchone=lambda: (process, address))

        given = SimpleNamespace(vendor=vendor, cursor=lambda: nullcontext(cursor))
        monkeypatch.setattr(server_clock, "connection", given)
        return server_clock.server_clock()

    monkeypatch.setattr(server_clock, "_is_server", lambda process: process == 7)
    assert clock("sqlite", 7, HERE) is None
    assert clock("postgresql", 7, "10.0.0.4") is None
    assert clock("postgresql", 8, HERE) is None
    assert clock("postgresql", 7, HERE) is not None


@pytest.mark.any_database
def test_the_table_says_whose_time_it_counts(monkeypatch):
    def said(vendor, server_ms):
        monkeypatch.setattr(
            desk_table, "connection", SimpleNamespace(vendor=vendor, display_name=vendor)
        )
        page = desk_speed.DeskPage("Today", "/", 4)
        cost = desk_speed.PageCost(page, 3.0, 17.0, 5.7, 40, 12, server_ms=server_ms)
        return list(desk_table.DeskTable({}).lines([cost]))

    page, last = said("postgresql", 4.25)
    assert "(17.0 ms (4.2 of the server), 40 queries" in page
    assert "took 5.7 ms of processor time with the database server's. Load" in last
    page, last = said("postgresql", None)
    assert "(17.0 ms, 40 queries" in page
    assert "time without the database server's, which cannot be seen from here. Load" in last
    assert "of processor time. Load" in said("sqlite", None)[1]
