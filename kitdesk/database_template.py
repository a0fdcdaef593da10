"""A migrated, empty database that the processes of a test run copy: migrating takes each of them
seconds of a core, copying a moment.
"""

from __future__ import annotations

import contextlib
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

BASE_DIR = Path(__file__).resolve().parent.parent
SETTING = "KITDESK_TEST_TEMPLATE"
"""The environment's name for it: a file's path on SQLite, a database's name on PostgreSQL."""
NAME_ON_SERVER = "kitdesk_template"


@contextlib.contextmanager
def migrated_file() -> Iterator[dict[str, str]]:
    """The environment that names a migrated SQLite file; empty where the migrations fail, so that
    the tests themselves say what is wrong.
    """
    with tempfile.TemporaryDirectory(prefix="kitdesk-template-") as folder:
        path = Path(folder, "template.sqlite3")
        done = _migrate(f"sqlite:///{path.as_posix()}")
        yield {SETTING: str(path)} if done else {}


@contextlib.contextmanager
def migrated_on_server(address: str) -> Iterator[dict[str, str]]:
    """The same on the PostgreSQL server at ``address``, where it is dropped at the end."""
    import psycopg
    from psycopg import sql

    target = sql.Identifier(NAME_ON_SERVER)
    server = urlsplit(address)._replace(path="/postgres").geturl()
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(sql.SQL("DROP DATABASE IF EXISTS {}").format(target))
        connection.execute(sql.SQL("CREATE DATABASE {}").format(target))
    done = _migrate(urlsplit(address)._replace(path=f"/{NAME_ON_SERVER}").geturl())
    try:
        yield {SETTING: NAME_ON_SERVER} if done else {}
    finally:
        with psycopg.connect(server, autocommit=True) as connection:
            connection.execute(sql.SQL("DROP DATABASE IF EXISTS {}").format(target))


def _migrate(address: str) -> bool:
    command = [sys.executable, "-m", "django", "migrate", "--settings=tests.settings", "-v0"]
    environment = os.environ | {"DATABASE_URL": address}
    return subprocess.run(command, cwd=BASE_DIR, env=environment, check=False).returncode == 0
