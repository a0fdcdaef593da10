"""Any single change of any column of any protected table is named by `verify`, with its row."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal

import pytest
import time_machine
from django.db import connection, models, transaction
from django.utils import timezone

from readiness.actions.student_captures import take_student_capture
from rentals.actions.access_tokens import make_access_token
from rentals.actions.guide import begin_help
from rentals.actions.settle import charge
from rentals.actions.setup import save_practice
from rentals.models import Event, Kit, Practice
from rentals.seals.check import row_faults
from rentals.seals.tables import SealedTable, sealed_tables
from rentals.verify import verify
from tests.emptied import take_guard_down
from tests.factories import ElectrodeBatchFactory
from tests.readiness.captures import capture_bytes, capture_file
from tests.readiness.drops import still
from tests.rentals.actions.acts import shortfall_of
from tests.rentals.guide import lent
from tests.rentals.photos import add_pictures

AWAY = 900_000
pytestmark = [pytest.mark.django_db, pytest.mark.any_database]


@pytest.fixture
def anything_can_be_written() -> Iterator[None]:
    """What the database refuses by itself is not what is judged here."""
    if connection.vendor != "sqlite":
        pytest.skip("the rules of PostgreSQL cannot be put aside")
    take_guard_down()
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA ignore_check_constraints = ON")
        yield
        cursor.execute("PRAGMA ignore_check_constraints = OFF")


@pytest.mark.slow
def test_a_change_by_hand_is_named_with_its_row(anything_can_be_written):
    # A capture tells whole seconds: the kit is back well before it.
    with time_machine.travel(timezone.now() - timedelta(minutes=1)):
        short = shortfall_of("charger")
    charge(short, Decimal(22))
    ElectrodeBatchFactory()
    still(short.loan.kit, 1)
    save_practice(Practice.current())
    make_access_token("bench", ["verdicts:read"], expires_on=date(2099, 1, 1))
    add_pictures(short.packing_line, b"a picture")
    visit = begin_help(lent(), "hum")
    take_student_capture(visit, capture_file("mine.csv", capture_bytes("worn")))
    assert verify() == []
    silent, tried = [], 0
    for table in sealed_tables():
        row = table.model._base_manager.values_list("pk", flat=True).first()
        assert row is not None, f"{table.name} has no row to change"
        for column in table.columns:
            tried += 1
            if not _is_named(table, row, column):
                silent.append(f"{table.name}.{column}")
        silent += _rows_moved(table, row)
    assert silent == []
    assert tried > 150
    _every_column_of_events()
    _every_replayed_column_of_kits()
    assert verify() == []


def test_each_column_counts_or_says_why_not():
    for table in sealed_tables():
        local = {field.attname for field in table.model._meta.local_concrete_fields}
        assert local == set(table.columns) | set(table.left_out), table.name
        assert all(table.left_out.values()), table.name


def _every_column_of_events() -> None:
    """Each in another event, for `verify` works every hash out anew; whose account it was is kept
    as a name.
    """
    names = [field.attname for field in Event._meta.local_concrete_fields]
    names = [name for name in names if name not in ("id", "actor_id")]
    events = Event.objects.filter(kit__isnull=False).values_list("pk", flat=True)[: len(names)]
    with transaction.atomic():
        for event, name in zip(events, names, strict=True):
            _change(Event, event, name)
        changed = [fault for fault in verify() if "was changed after it was written" in fault]
        assert len(changed) == len(names)
        transaction.set_rollback(True)


def _every_replayed_column_of_kits() -> None:
    """What the log leaves out of kits is worked out from their events."""
    (kits,) = (table for table in sealed_tables() if table.model is Kit)
    kit = Kit.objects.get(pk=Event.objects.filter(kit__isnull=False).values_list("kit")[0][0])
    for column in kits.left_out:
        with transaction.atomic():
            _change(Kit, kit.pk, column)
            assert any(fault.startswith(f"{kit.code}: ") for fault in verify()), column
            transaction.set_rollback(True)


def _rows_moved(table: SealedTable, row: int) -> Iterator[str]:
    """What is not named of a row deleted, one that the log never saw, and two that change
    places.
    """
    name, key = table.model._meta.db_table, table.model._meta.pk.column
    # Two rows that say the same, such as two chargers' own, are no others when they change places.
    facts = [name for name in table.columns if name != table.model._meta.pk.attname]
    rows = {pk: said for pk, *said in table.model._base_manager.values_list("pk", *facts)}
    other = next((pk for pk, said in rows.items() if said != rows[row]), None)
    number = f"UPDATE {name} SET {key} = %s WHERE {key} = %s"
    moves: list[tuple[list[tuple[str, list[int]]], dict[int, str]]] = [
        ([(f"DELETE FROM {name} WHERE {key} = %s", [row])], {row: "is gone"}),
        ([(number, [AWAY, row])], {AWAY: "stands in no line"}),
    ]
    if other is not None:
        places = [(AWAY, row), (row, other), (other, AWAY)]
        swap = [(number, list(place)) for place in places]
        moves.append((swap, {row: "is not as", other: "is not as"}))
    for orders, named in moves:
        with transaction.atomic(), connection.cursor() as cursor:
            for order, values in orders:
                cursor.execute(order, values)
            faults = list(row_faults(table))
            transaction.set_rollback(True)
        for at, what in named.items():
            if not any(f" {at} {what}" in fault for fault in faults):
                yield f"{table.name}: {at} {what}"


def _is_named(table: SealedTable, row: int, column: str) -> bool:
    with transaction.atomic():
        _change(table.model, row, column)
        faults = list(row_faults(table))
        transaction.set_rollback(True)
    changed_key = column == table.model._meta.pk.attname
    return any(f" {row} is {'gone' if changed_key else 'not as'}" in fault for fault in faults)


def _change(model: type[models.Model], row: int, column: str) -> None:
    """Another value in one column, written past every action."""
    field = next(f for f in model._meta.local_concrete_fields if f.attname == column)
    now = model._base_manager.filter(pk=row).values_list(column, flat=True).get()
    table, key = model._meta.db_table, model._meta.pk.column
    with connection.cursor() as cursor:
        words = f'UPDATE {table} SET "{field.column}" = %s WHERE {key} = %s'
        cursor.execute(words, [_another(field, now), row])


def _another(field: models.Field, now: object) -> object:
    if isinstance(now, bool):
        return not now
    if isinstance(field, models.JSONField):
        return json.dumps({"by hand": 1})
    if isinstance(field, models.DateTimeField):
        return "2001-02-03 04:05:06"
    if isinstance(field, models.DateField):
        return "2001-02-03"
    if isinstance(field, models.BooleanField):
        return True
    if isinstance(now, int) or field.is_relation:
        return (now or 0) + 1003
    if isinstance(field, models.DecimalField | models.FloatField | models.IntegerField):
        return float(now or 0) + 7
    return f"{now}x"
