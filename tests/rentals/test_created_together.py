"""A desk that begins has the tables of one that went through every migration since the first."""

import contextlib
import os
import re
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = [pytest.mark.night, pytest.mark.any_database]
ROOT = Path(__file__).resolve().parents[2]
WHOLE_WAY = (
    "import django; django.setup();"
    "from django.core.management import call_command;"
    "from tests.the_whole_way import the_whole_way\n"
    "with the_whole_way(): call_command('migrate', verbosity=0)"
)
SHORT_WAY = (
    "import django; django.setup();"
    "from django.core.management import call_command;"
    "call_command('migrate', verbosity=0)"
)


def _migrated(path: Path, program: str) -> sqlite3.Connection:
    environment = os.environ | {
        "DATABASE_URL": f"sqlite:///{path.as_posix()}",
        "DJANGO_SETTINGS_MODULE": "tests.settings",
    }
    subprocess.run([sys.executable, "-c", program], cwd=ROOT, env=environment, check=True)
    return sqlite3.connect(path)


def _parts(statement: str) -> list[str]:
    """Columns and constraints of a table, in an order of their own."""
    parts, depth = [""], 0
    for letter in statement[statement.index("(") + 1 : statement.rindex(")")]:
        depth += {"(": 1, ")": -1}.get(letter, 0)
        if letter == "," and not depth:
            parts.append("")
        else:
            parts[-1] += letter
    return sorted(part.strip() for part in parts)


def _schema(database: sqlite3.Connection) -> dict[str, list[str]]:
    named = database.execute("SELECT type, name, sql FROM sqlite_master WHERE sql IS NOT NULL")
    return {
        f"{kind} {name}": _parts(sql) if kind == "table" else [re.sub(r"\s+", " ", sql)]
        for kind, name, sql in named
    }


def test_both_ways_end_at_the_same_tables_and_roles(tmp_path):
    short = contextlib.closing(_migrated(tmp_path / "short.sqlite3", SHORT_WAY))
    whole = contextlib.closing(_migrated(tmp_path / "whole.sqlite3", WHOLE_WAY))
    with short as one, whole as other:
        assert _schema(one) == _schema(other)
        roles = "SELECT name FROM auth_group ORDER BY name"
        assert one.execute(roles).fetchall() == other.execute(roles).fetchall()


def test_a_desk_that_stopped_on_the_way_goes_on_to_the_same_tables(tmp_path):
    stop = "'migrate', 'rentals', '0030_ledger_of_loans_of_today',"
    half = WHOLE_WAY.replace("'migrate',", stop)
    _migrated(tmp_path / "half.sqlite3", half).close()
    with (
        contextlib.closing(_migrated(tmp_path / "half.sqlite3", SHORT_WAY)) as one,
        contextlib.closing(_migrated(tmp_path / "short.sqlite3", SHORT_WAY)) as other,
    ):
        assert _schema(one) == _schema(other)
