"""Which marks an answer hangs on, by what it read of tables that have quiet changes."""

import re

import pytest

from rentals.lifecycle import Verb
from rentals.models import Event, Kit, Loan
from rentals.quiet_changes import QUIET_CHANGES, every_change, marks_of_read

pytestmark = pytest.mark.any_database

KITS, EVENTS = every_change("rentals_kit"), every_change("rentals_event")


def read_by(rows) -> set[str]:
    sql, given = rows.query.sql_with_params()
    words = set(re.findall(r"\w+", sql))
    tables = {"rentals_kit", "rentals_event", "rentals_loan"} & words
    return marks_of_read(tables, words, sql, given)


def test_where_a_chain_ends_is_only_seen_by_whoever_reads_it():
    assert read_by(Kit.objects.values_list("code", "state", "note")) == {"rentals_kit"}
    for rows in (
        Kit.objects.all(),
        Kit.objects.filter(event_count__gt=3).values_list("code"),
        Kit.objects.order_by("last_hash").values_list("code"),
    ):
        assert read_by(rows) == {"rentals_kit", KITS}
    assert read_by(Loan.objects.select_related("kit")) == {"rentals_loan", "rentals_kit", KITS}
    assert read_by(Loan.objects.values_list("kit__code")) == {"rentals_loan", "rentals_kit"}


def test_a_query_that_names_no_columns_reads_all_of_them():
    for sql in ("SELECT * FROM rentals_kit", 'SELECT k.* FROM "rentals_kit" k'):
        assert marks_of_read({"rentals_kit"}, set(), sql, None) == {"rentals_kit", KITS}
    counted = "SELECT COUNT(*) FROM rentals_kit"
    assert marks_of_read({"rentals_kit"}, set(), counted, None) == {"rentals_kit"}


def test_notes_are_seen_by_whoever_does_not_ask_for_other_verbs():
    cleared = Event.objects.filter(verb=Verb.CLEARED)
    assert read_by(cleared) == {"rentals_event"}
    assert read_by(Event.objects.filter(verb__in=[Verb.CLEARED, Verb.HELD])) == {"rentals_event"}
    last = Event.objects.filter(verb=Verb.HELD).values("text")[:1]
    codes = Kit.objects.filter(code__in=last).values_list("code")
    assert read_by(codes) == {"rentals_kit", "rentals_event"}
    for rows in (
        Event.objects.all(),
        Event.objects.exclude(pk=3),
        Event.objects.filter(verb=Verb.NOTED),
        Event.objects.filter(verb__in=[Verb.CLEARED, Verb.NOTED]),
    ):
        assert read_by(rows) == {"rentals_event", EVENTS}


def test_the_two_tables_with_quiet_changes_have_marks_that_fit_their_column():
    assert QUIET_CHANGES.keys() == {"rentals_kit", "rentals_event"}
    assert all(len(every_change(table)) <= 63 for table in QUIET_CHANGES)
