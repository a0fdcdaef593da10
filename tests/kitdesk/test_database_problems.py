"""A database that is broken, empty, away or refused: one sentence with what to do, and code 1."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import subprocess
import sys
from pathlib import Path
from types import SimpleNamespace

import psycopg
import pytest
from django.core.exceptions import ImproperlyConfigured
from django.db.utils import DatabaseError, OperationalError, ProgrammingError

from kitdesk import dispatch
from kitdesk.database_problems import file_problem, sentence_of, settings_problem

pytestmark = pytest.mark.any_database
ROOT = Path(__file__).resolve().parent.parent.parent


def _run(command: str, folder: Path, address: str = "") -> subprocess.CompletedProcess[str]:
    chosen = {"DATABASE_URL": address} if address else {}
    around = {name: text for name, text in os.environ.items() if name != "DATABASE_URL"}
    return subprocess.run(
        [sys.executable, "manage.py", command],
        cwd=ROOT,
        env={
            **around,
            **chosen,
            "KITDESK_VAR": str(folder),
            "DJANGO_SETTINGS_MODULE": "kitdesk.settings",
        },
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.mark.parametrize("address", ["nonsense", "postgres://a:b@127.0.0.1:port/desk"])
def test_an_address_of_no_database_is_said_in_a_sentence(address, tmp_path):
    done = _run("verify", tmp_path, address)
    assert done.returncode == 1
    assert "names no database that Kitdesk can use" in done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.night
@pytest.mark.parametrize("command", ["start", "prepare", "verify", "backup"])
def test_a_desk_that_cannot_be_opened_is_said_in_a_sentence(command, tmp_path):
    (tmp_path / "kitdesk.sqlite3").write_bytes(b"no database, but long enough" * 40)
    broken = _run(command, tmp_path)
    away = _run(command, tmp_path, "postgres://kitdesk@127.0.0.1:1/desk")
    assert (broken.returncode, away.returncode) == (1, 1)
    assert "is no database, or is damaged" in broken.stderr
    assert "does not answer" in away.stderr
    assert "Traceback" not in broken.stderr + away.stderr


def test_the_words_of_the_databases_themselves_are_known(tmp_path):
    broken = tmp_path / "broken.sqlite3"
    broken.write_bytes(b"no database, but long enough" * 40)
    opened = contextlib.closing(sqlite3.connect(broken))
    with opened as connection, pytest.raises(sqlite3.DatabaseError) as damaged:
        connection.execute("SELECT 1 FROM sqlite_master")
    with pytest.raises(psycopg.OperationalError) as away:
        psycopg.connect("postgres://kitdesk@127.0.0.1:1/desk")
    with pytest.raises(psycopg.OperationalError) as unknown:
        psycopg.connect("postgres://kitdesk@desk.invalid/desk")
    assert "is no database" in str(sentence_of(DatabaseError(str(damaged.value))))
    assert "does not answer" in str(sentence_of(OperationalError(str(away.value))))
    assert "not known by that name" in str(sentence_of(OperationalError(str(unknown.value))))


def test_a_command_that_needs_a_desk_says_that_there_is_none(tmp_path, monkeypatch):
    file = tmp_path / "kitdesk.sqlite3"
    place = {"ENGINE": "django.db.backends.sqlite3", "NAME": str(file)}
    settings = SimpleNamespace(DATABASES={"default": place})
    monkeypatch.setattr("kitdesk.database_problems.settings", settings)
    assert "There is no desk yet" in str(file_problem("verify"))
    assert file_problem("start") is None
    file.touch()
    for command in ("start", "verify", "backup"):
        assert "is empty: it holds no desk" in str(file_problem(command))
    assert file_problem("restore") is None
    file.write_bytes(b"a database")
    assert file_problem("verify") is None
    settings.DATABASES = {"default": place | {"NAME": ":memory:"}}
    assert file_problem("verify") is None
    settings.DATABASES = {"default": {"ENGINE": "django.db.backends.postgresql", "NAME": "x"}}
    assert file_problem("verify") is settings_problem() is None


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ('FATAL:  password authentication failed for user "a"', "name or the password"),
        ('connection failed: FATAL:  database "x" does not exist', "no database of the name"),
        ('FATAL:  role "ben" does not exist', "no account of the name"),
        ("failed to resolve host 'desk'", "not known by that name"),
        ("FATAL:  sorry, too many clients already", "no more connections"),
        ("database disk image is malformed", "is damaged"),
        ("unable to open database file", "cannot be opened"),
        ("attempt to write a readonly database", "may not write to"),
        ("database or disk is full", "The disk is full"),
        ("no such table: rentals_kit", "holds no desk"),
        ("database is locked", "Something else holds the database"),
    ],
)
def test_what_a_database_says_has_a_sentence_of_ours(words, says):
    assert says in str(sentence_of(OperationalError(words)))


def test_what_is_no_problem_of_the_database_stays_what_it_is(monkeypatch, capsys):
    def fail(argv: list[str]) -> None:
        raise problem

    monkeypatch.setattr("django.core.management.execute_from_command_line", fail)
    problem: Exception = ProgrammingError('relation "rentals_kit" does not exist')
    assert dispatch.run(["manage.py", "speed"]) == 1
    assert "holds no desk" in capsys.readouterr().err
    for problem in (ProgrammingError("syntax error"), ImproperlyConfigured("LOGGING is odd")):
        with pytest.raises(type(problem)):
            dispatch.run(["manage.py", "speed"])
