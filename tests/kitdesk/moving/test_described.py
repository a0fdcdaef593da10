"""What is said of the tables that move."""

import pytest

from kitdesk.moving.described import readme, schema
from kitdesk.moving.tables import STAYS, moved_models

pytestmark = pytest.mark.any_database


def _column(table: str, column: str) -> dict:
    tables = {found["table"]: found for found in schema(moved_models())["tables"]}
    return next(found for found in tables[table]["columns"] if found["column"] == column)


def test_a_column_is_described_with_type_unit_meaning_and_what_it_refers_to():
    assert _column("rentals_amplifier", "noise_limit_uv") == {
        "column": "noise_limit_uv",
        "type": "number",
        "may_be_null": True,
        "meaning": "Own limit, microvolts RMS, full band.",
        "unit": "µV RMS",
    }
    assert _column("rentals_labelsheet", "pitch_across")["unit"] == "mm"
    assert _column("rentals_practice", "days_to_pay")["unit"] == "days"
    assert _column("rentals_loan", "kit_id")["refers_to"] == "rentals_kit.id"
    assert _column("rentals_amplifier", "part_ptr_id")["type"] == "whole number"
    assert _column("rentals_kit", "state")["values"]["away"]
    assert _column("rentals_entry", "amount")["decimals"] == 3
    assert _column("auth_user", "password")["only_in_rows"] is True


def test_the_page_beside_the_tables_says_how_to_move_in_and_what_stays_behind():
    page = readme("2030-01-01", "SQLite")
    assert "manage.py import FOLDER" in page and "log.key" in page
    assert all(f"`{table}`: {reason}." in page for table, reason in STAYS.items())
