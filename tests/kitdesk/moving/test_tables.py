"""Which tables move."""

import pytest
from django.apps import apps
from django.db import connection

from kitdesk.moving.codec import kind_of
from kitdesk.moving.tables import FILLED_BY_ITSELF, MOVED, NOT_FOR_READING, STAYS, moved_models

pytestmark = pytest.mark.any_database


@pytest.mark.django_db
def test_every_table_moves_or_is_named_with_the_reason_why_it_stays():
    models = list(moved_models())
    moved = [model._meta.db_table for model in models]
    assert len(set(moved)) == len(moved) == len(MOVED)
    assert not set(moved) & set(STAYS)
    # "sqlite_": by the documentation of SQLite its own, such as what its planner has counted.
    names = connection.introspection.table_names()
    there = {name for name in names if not name.startswith("sqlite_")} | {"kitdesk_cache"}
    undecided = there ^ {*moved, *STAYS}
    assert undecided == set(), "decide it in kitdesk/moving/tables.py"
    assert all(STAYS.values())
    # What is not known of a column would keep everybody from moving.
    for model in models:
        for field in model._meta.local_concrete_fields:
            assert kind_of(field)


def test_a_table_comes_after_those_it_refers_to_so_that_the_guards_of_the_database_hold():
    order = {model: place for place, model in enumerate(moved_models())}
    late = [
        f"{model._meta.label}.{field.name}"
        for model, place in order.items()
        for field in model._meta.local_concrete_fields
        if field.is_relation and order[field.related_model] > place
    ]
    # A line that was sent later names its replacement, and that the line it stands for.
    assert late == ["rentals.PackingLine.sent_with"]


def test_what_is_said_of_tables_and_columns_names_some_that_are_there():
    assert set(MOVED) >= FILLED_BY_ITSELF
    for name in NOT_FOR_READING:
        table, _, column = name.rpartition(".")
        if name not in MOVED:
            assert apps.get_model(table)._meta.get_field(column)
