"""Two machines that prepare the same database at the same moment."""

import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest
from django.db import connection

from kitdesk import throwaway_postgres
from kitdesk.alone_at_tables import alone_at_tables
from tests.conftest import lacking

ROOT = Path(__file__).resolve().parents[2]
WAITING = "SELECT count(*) FROM pg_locks WHERE locktype = 'advisory' AND NOT granted"


def _number_waiting() -> int:
    with connection.cursor() as cursor:
        cursor.execute(WAITING)
        return int(cursor.fetchone()[0])


@pytest.mark.postgres
@pytest.mark.django_db
def test_the_second_waits_and_says_so():
    order, said, pause = [], [], threading.Event()

    def second() -> None:
        with alone_at_tables(said.append):
            order.append("second")

    other = threading.Thread(target=second)
    with alone_at_tables(said.append):
        assert said == []
        other.start()
        while other.is_alive() and not _number_waiting():
            pause.wait(0.02)
        order.append("first")
    other.join()
    assert order == ["first", "second"]
    assert len(said) == 1 and "Another machine" in said[0]


@pytest.mark.night
@pytest.mark.any_database
def test_two_machines_prepare_one_empty_database(tmp_path):
    programs = throwaway_postgres.programs()
    if programs is None:
        lacking("postgres", "needs PostgreSQL's own programs: `sudo apt-get install postgresql`")
    with throwaway_postgres.running(programs) as address:
        common = {
            "PATH": os.environ["PATH"],
            "DATABASE_URL": address.rsplit("/", 1)[0] + "/postgres",
            "SECRET_KEY": "of both machines " * 4,
            "KITDESK_LOG_KEY": "of both machines",
        }
        machines = [
            subprocess.Popen(
                [sys.executable, "manage.py", "prepare"],
                cwd=ROOT,
                env=common | {"KITDESK_VAR": str(tmp_path / name)},
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
                text=True,
            )
            for name in ("one", "two")
        ]
        said = [machine.communicate()[0] for machine in machines]
    assert [machine.returncode for machine in machines] == [0, 0], said
