"""What SQLite puts together of a row is what Python does, or is looked at again."""

from __future__ import annotations

import pytest
from django.db import connection

from rentals.models import PackingLine
from rentals.seals.check import row_faults
from rentals.seals.tables import SealedTable, sealed_table, sealed_tables
from rentals.verifying.chains import _moment
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
        assert list(table.digests(quickly=True)) == list(table.digests()), table.name


@pytest.mark.parametrize("value", ["x'00ff'", "'12,5'", "12.004", "'abc'", "NULL", "1e300"])
@pytest.mark.parametrize("column", ["replacement_price", "name", "quantity", "ticked_at"])
def test_a_value_of_another_kind_is_named_as_the_slow_way_names_it(column, value, monkeypatch):
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
    monkeypatch.setattr("rentals.seals.tables.quick_line", lambda *_: None)
    assert told == list(row_faults(_of(PackingLine)))
    assert len(told) <= 1


def test_a_moment_of_another_form_is_read_before_it_counts():
    usual = "2026-07-21T09:01:00.000000+00:00"
    assert _moment("2026-07-21 09:01:00") == _moment("2026-07-21 09:01:00.000000") == usual
    assert _moment("2026-07-21T09:01:00") == _moment("2026-07-21 11:01:00+02:00") == usual
    assert _moment("2026-07-21 at nine") == "2026-07-21 at nine"
