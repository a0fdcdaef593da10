"""The database marks a table anew with every change, however it is made."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.contrib.auth.models import Group, User
from django.db import connection, connections, transaction
from django.db.models import F
from django.utils import timezone

from rentals import table_marks
from rentals.actions.issue import hold, note
from rentals.actions.record import record_kit
from rentals.lifecycle import Verb
from rentals.models import CourseRun, Event, Kit, Loan, Message, StockItem, Student, TableMark
from rentals.quiet_changes import every_change
from rentals.table_marks import forget_ended_sessions, marked_tables, marks_now
from tests.factories import complete_kit, packed_loan

pytestmark = pytest.mark.django_db

KITS, EVENTS = every_change("rentals_kit"), every_change("rentals_event")


def changed(act: Callable[[], object]) -> set[str]:
    """The tables that have another mark after an act."""
    before = marks_now()
    act()
    after = marks_now()
    assert before.keys() == after.keys()
    return {table for table, mark in after.items() if before[table] != mark}


def all_marks() -> set[str]:
    return marked_tables() | {KITS, EVENTS}


def run_sql(sql: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(sql)


def test_every_table_that_pages_are_worked_out_of_has_a_mark():
    assert marks_now().keys() == all_marks()
    assert {
        model._meta.db_table for model in (Kit, Loan, Message, Student, User)
    } <= marks_now().keys()
    assert "django_session" not in marks_now()
    assert TableMark._meta.db_table not in marks_now()


def test_every_way_to_write_marks_the_table_and_no_other():
    item = StockItem.objects.create(name="gauze")
    same = StockItem(pk=item.pk, name="another one of the same number")
    ways = [
        lambda: StockItem.objects.create(name="tape"),
        lambda: StockItem.objects.filter(pk=item.pk).update(on_hand=7),
        lambda: StockItem.objects.bulk_create([StockItem(name="gel"), StockItem(name="swabs")]),
        lambda: StockItem.objects.bulk_create(
            [same, StockItem(name="film")], ignore_conflicts=True
        ),
        lambda: run_sql("UPDATE rentals_stockitem SET shelf = 'by hand'"),
        lambda: StockItem.objects.filter(name="tape").delete(),
        lambda: run_sql("DELETE FROM rentals_stockitem"),
    ]
    assert [changed(way) for way in ways] == [{"rentals_stockitem"}] * len(ways)


def test_rows_between_two_tables_are_marked_too():
    user, group = User.objects.create_user("colleague"), Group.objects.first()
    assert changed(lambda: user.groups.add(group)) == {"auth_user_groups"}
    assert changed(lambda: user.groups.clear()) == {"auth_user_groups"}


def test_what_only_reads_marks_nothing():
    packed_loan()
    assert changed(lambda: list(Loan.objects.select_related("kit"))) == set()
    assert changed(lambda: list(Loan.objects.select_for_update())) == set()


def test_a_note_in_a_kits_history_draws_the_marks_of_every_change_only():
    kit = complete_kit()
    assert changed(lambda: note(kit, "Its bag is torn.")) == {KITS, EVENTS}
    quiet = [lambda: Kit.objects.update(event_count=F("event_count") + 1), kit.save]
    assert [changed(way) for way in quiet] == [{KITS}] * 2


def test_all_else_of_kits_and_events_draws_both_marks():
    kit, other = complete_kit(), complete_kit()
    note(kit, "Its bag is torn.")
    noted = Event.objects.filter(verb=Verb.NOTED)
    of_kits = [
        lambda: Kit.objects.filter(pk=kit.pk).update(note="torn"),
        lambda: Kit.objects.filter(pk=kit.pk).update(note="", event_count=0),
        lambda: Kit.objects.filter(pk__in=[kit.pk, other.pk]).update(scored_at=timezone.now()),
        lambda: Kit.objects.filter(pk=kit.pk).update(scored_at=None),
        lambda: run_sql("UPDATE rentals_kit SET not_cleared_reason = 'by hand'"),
        lambda: Kit.objects.create(kit_type=kit.kit_type, code="K9999X"),
        lambda: Kit.objects.filter(code="K9999X").delete(),
    ]
    of_events = [
        lambda: record_kit(other, Verb.NOTED, "Paid.", data={"ledger": []}),
        lambda: hold(other, reason="it rattles"),
        lambda: noted.update(text="Its bag is whole."),
        lambda: noted.delete(),
    ]
    assert [changed(way) >= {"rentals_kit", KITS} for way in of_kits] == [True] * len(of_kits)
    own = {"rentals_event", EVENTS}
    assert [changed(way) >= own for way in of_events] == [True] * len(of_events)


def test_a_change_that_is_taken_back_takes_its_mark_with_it():
    def taken_back() -> None:
        with pytest.raises(ZeroDivisionError), transaction.atomic():
            complete_kit()
            raise ZeroDivisionError

    assert changed(taken_back) == set()


def test_a_mark_never_comes_again():
    complete_kit()
    seen = set()
    for number in range(50):
        Kit.objects.update(note=f"{number % 2}")
        seen.add(marks_now()["rentals_kit"])
    assert len(seen) == 50


def test_putting_the_triggers_up_again_marks_all_anew_and_leaves_one_of_each():
    assert changed(table_marks.put_up) == all_marks()
    table_marks.take_down()
    table_marks.put_up_after_migrating("default")
    assert changed(complete_kit) >= {"rentals_kit"}


@pytest.mark.any_database
@pytest.mark.skipif(connection.vendor != "sqlite", reason="a table is rebuilt on SQLite only")
def test_without_the_triggers_a_table_is_not_marked():
    table_marks.take_down_before_migrating("default")
    assert changed(complete_kit) == set()


def test_on_one_file_no_session_ends():
    kit = complete_kit()
    before = marks_now()
    forget_ended_sessions()
    assert (marks_now() == before) or connection.vendor == "postgresql"
    assert kit


@pytest.mark.postgres
def test_marks_of_ended_sessions_go_and_leave_another_mark():
    forget_ended_sessions()
    complete_kit()
    own = TableMark.objects.get(table="rentals_kit", session__gt=0)
    TableMark.objects.create(table="rentals_kit", session=2**40, mark=5)
    assert changed(forget_ended_sessions) == {"rentals_kit"}
    assert TableMark.objects.get(table="rentals_kit", session__gt=0) == own
    assert changed(forget_ended_sessions) == set()


@pytest.mark.postgres
@pytest.mark.django_db(transaction=True)
def test_two_writers_of_a_table_do_not_wait_for_each_other():
    first = StockItem.objects.create(name="gauze")
    second = StockItem.objects.create(name="tape")
    other = connections["default"].copy()
    try:
        with transaction.atomic():
            StockItem.objects.filter(pk=first.pk).update(on_hand=1)
            with other.cursor() as cursor:
                cursor.execute("SET lock_timeout = '5s'")
                cursor.execute(
                    "UPDATE rentals_stockitem SET on_hand = 2 WHERE id = %s", [second.pk]
                )
            before = marks_now()["rentals_stockitem"]
        assert marks_now()["rentals_stockitem"] == before
    finally:
        other.close()
    assert CourseRun.objects.count() == 0
