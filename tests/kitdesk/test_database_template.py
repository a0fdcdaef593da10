"""The migrated database that the processes of a test run copy."""

import contextlib
import os
import sqlite3
from pathlib import Path
from urllib.parse import urlsplit

import psycopg
import pytest
from django.db import connection

from kitdesk import database_template
from kitdesk.database_template import NAME_ON_SERVER, SETTING, migrated_file, migrated_on_server


@pytest.mark.any_database
def test_the_whole_runs_file_is_migrated_and_holds_no_desk():
    template = Path(os.environ.get(SETTING, ""))
    if not template.is_file():
        pytest.skip("a run of single tests makes no template; `python3 manage.py test` does")
    with contextlib.closing(sqlite3.connect(template)) as file:
        ((applied,),) = file.execute("SELECT count(*) FROM django_migrations")
        ((kits,),) = file.execute("SELECT count(*) FROM rentals_kit")
    assert applied > 20 and kits == 0


@pytest.mark.any_database
def test_without_a_sound_migration_the_tests_make_their_own(monkeypatch, tmp_path):
    monkeypatch.setattr(database_template, "BASE_DIR", tmp_path)
    with migrated_file() as settings:
        assert settings == {}


@pytest.mark.postgres
@pytest.mark.night
def test_the_servers_database_is_migrated_and_dropped(db):
    names = "SELECT datname FROM pg_database WHERE datname = %s"
    other = "kitdesk_template_tried"
    address = urlsplit(os.environ["DATABASE_URL"]).geturl()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(database_template, "NAME_ON_SERVER", other)
        with migrated_on_server(address) as settings:
            assert settings == {SETTING: other}
            copied = urlsplit(address)._replace(path=f"/{other}").geturl()
            with psycopg.connect(copied) as template:
                ((applied,),) = template.execute("SELECT count(*) FROM django_migrations")
    assert applied > 20
    with connection.cursor() as cursor:
        cursor.execute(names, [other])
        assert cursor.fetchall() == []
    assert other != NAME_ON_SERVER
