"""Pieces of a table are passed over only where every row is as the log has it."""

from __future__ import annotations

import random

import pytest
from django.db import connection, transaction

from rentals.models import LogLine, PackingLine
from rentals.seals.check import row_faults_one_by_one
from rentals.seals.differing import differing
from rentals.seals.tables import SealedTable, sealed_table
from tests.factories import packed_loan

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
AWAY = 900_000


@pytest.fixture
def table() -> SealedTable:
    packed_loan()
    found = sealed_table(PackingLine)
    assert found is not None
    return found


def test_rows_as_the_log_has_them_leave_only_what_the_log_knows_behind_them(table):
    numbers = list(PackingLine.objects.order_by("pk").values_list("pk", flat=True))
    for stretch, size in [((0, None), 3), ((0, None), 1), ((0, AWAY), 1000)]:
        assert list(differing(table, stretch, size)) == []
    PackingLine.objects.filter(pk=numbers[-1]).delete()
    assert list(differing(table, (0, None), 1000)) == [(numbers[-2] + 1, None)]
    assert list(differing(table, (0, AWAY), 2)) == [(numbers[-2] + 1, AWAY)]
    assert len(list(row_faults_one_by_one(table, (0, None)))) == 1


def test_any_damage_is_named_as_by_looking_at_each_row(table):
    chance, kept = random.Random(7), list(PackingLine.objects.values_list("pk", flat=True))
    kinds = set()
    for _ in range(40):
        with transaction.atomic():
            for _ in range(chance.randrange(1, 4)):
                kinds.add(_damage(chance, chance.choice(kept)))
            whole = list(row_faults_one_by_one(table, (0, None)))
            pieces = differing(table, (0, None), chance.choice([1, 3, 7, 1000]))
            found = [said for piece in pieces for said in row_faults_one_by_one(table, piece)]
            transaction.set_rollback(True)
        assert found == whole
    assert kinds == {"changed", "deleted", "moved", "line lost", "line anew", "line emptied"}


def test_a_row_that_cannot_be_read_and_that_no_line_names_is_looked_at(table):
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL takes no such values")
    row = PackingLine.objects.order_by("pk").values_list("pk", flat=True)[1]
    LogLine.objects.filter(table=table.name).delete()
    with connection.cursor() as cursor:
        words = "UPDATE rentals_packingline SET name = CAST(X'FFFE' AS TEXT) WHERE id = %s"
        cursor.execute(words, [row])
    assert (row, row + 1) in list(differing(table, (0, None), 1))
    said = [f for p in differing(table, (0, None), 1) for f in row_faults_one_by_one(table, p)]
    assert said == list(row_faults_one_by_one(table, (0, None)))


def _damage(chance: random.Random, row: int) -> str:
    """Something done by hand to a row, or to its lines."""
    rows = PackingLine.objects.filter(pk=row)
    lines = LogLine.objects.filter(table="rentals.packingline", row=row)
    last = lines.order_by("-position").values("position")[:1]
    kind = chance.choice(["changed", "deleted", "moved", "line lost", "line anew", "line emptied"])
    with connection.cursor() as cursor:
        match kind:
            case "changed":
                words = "UPDATE rentals_packingline SET name = 'by hand' WHERE id = %s"
                cursor.execute(words, [row])
            case "deleted":
                cursor.execute("DELETE FROM rentals_packingline WHERE id = %s", [row])
            case "moved" if rows.exists():
                to = AWAY + row
                cursor.execute("UPDATE rentals_packingline SET id = %s WHERE id = %s", [to, row])
            case "line lost":
                lines.filter(position__in=list(last.values_list("position", flat=True))).delete()
            case "line anew":
                lines.update(digest="0" * 64)
            case "line emptied":
                lines.update(digest="")
    return kind
