"""What SQLite puts together of a row is what Python does, or is looked at again."""

from __future__ import annotations

import random
from datetime import date, datetime, timedelta, timezone
from decimal import Decimal

import pytest
from django.db import connection

from rentals.models import PackingLine
from rentals.seals.check import row_faults, row_faults_one_by_one
from rentals.seals.tables import SealedTable, sealed_table, sealed_tables
from tests.factories import packed_loan

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]


def _of(model: type) -> SealedTable:
    table = sealed_table(model)
    assert table is not None
    return table


def test_both_ways_give_the_same_digests():
    line = packed_loan().packing_lines.first()
    line.name = "Größe “M”, 10 µV\t\\ \x7f 🎻"
    line.save()
    for table in sealed_tables():
        assert table.quick_digests((0, None), 1000) == dict(table.digests()), table.name


def test_both_ways_give_the_same_digests_of_rows_of_any_kind():
    line, chance = packed_loan().packing_lines.first(), random.Random(20)
    table = _of(PackingLine)
    for _ in range(150):
        line.name, line.serial, line.batch_number = (_any_words(chance) for _ in range(3))
        line.replacement_price = Decimal(chance.randrange(10**9)).scaleb(-3)
        line.mass_g, line.order = chance.choice([0, 1, 10**9]), chance.randrange(2**15)
        line.comes_back, line.single_use = chance.choice([(True, False), (False, True)])
        line.expires_on = chance.choice([None, date(1999, 12, 31), date(2027, 2, 28)])
        zone = timezone(timedelta(minutes=chance.randrange(-720, 841, 15)))
        microseconds = chance.choice([0, 1, 999_999, 120_000])
        line.ticked_at = chance.choice(
            [None, datetime(2026, 10, 25, 23, 59, 59, microseconds, tzinfo=zone)]
        )
        PackingLine.objects.bulk_update([line], _WRITTEN)
        stretch = (line.pk, line.pk + 1)
        assert table.quick_digests(stretch, 1) == dict(table.digests(stretch=stretch))


_WRITTEN = (
    "name",
    "serial",
    "batch_number",
    "replacement_price",
    "mass_g",
    "order",
    "comes_back",
    "single_use",
    "expires_on",
    "ticked_at",
)


def _any_words(chance: random.Random) -> str:
    letters = 'aé“"\\/µ\t\n\x01\x1f\x7f\x80\u2028\ufffd🎻|,[]{}:' + "0"
    return "".join(chance.choices(letters, k=chance.randrange(12)))


@pytest.mark.parametrize("value", ["x'00ff'", "'12,5'", "12.004", "'abc'", "NULL", "1e300"])
@pytest.mark.parametrize("column", ["replacement_price", "name", "quantity", "ticked_at"])
def test_a_value_of_another_kind_is_named_as_the_slow_way_names_it(column, value):
    if connection.vendor != "sqlite":
        pytest.skip("only SQLite keeps values of another kind")
    line = packed_loan().packing_lines.first()
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA ignore_check_constraints = ON")
        words = f'UPDATE OR IGNORE rentals_packingline SET "{column}" = {value} WHERE id = %s'
        try:
            cursor.execute(words, [line.pk])
        except Exception as refused:
            assert "NOT NULL" in str(refused)
            return
        finally:
            cursor.execute("PRAGMA ignore_check_constraints = OFF")
    told = list(row_faults(_of(PackingLine)))
    assert told == list(row_faults_one_by_one(_of(PackingLine), (0, None)))
    assert len(told) <= 1
