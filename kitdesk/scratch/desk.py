"""A desk of its own for a measurement: a folder, and a database beside the real one."""

from __future__ import annotations

import json
import os
import secrets
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import psycopg
from psycopg import sql

ROOT = Path(__file__).resolve().parents[2]


def measured(module: str, *words: str) -> Any:
    """What a module of this package prints as its last line, as JSON: run with these words on a
    scratch desk, in a process of its own.

    Raises
    ------
    RuntimeError
        If it failed; in its own words.
    """
    with _scratch_desk() as surroundings:
        done = subprocess.run(
            [sys.executable, "-m", f"kitdesk.scratch.{module}", *words],
            env=surroundings,
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=False,
        )
    if done.returncode:
        raise RuntimeError(done.stderr.strip()[-2000:])
    return json.loads(done.stdout.splitlines()[-1])


@contextmanager
def _scratch_desk() -> Iterator[Mapping[str, str]]:
    """The surroundings of a process that is to work on an empty desk, which is gone afterwards. It
    lies on PostgreSQL where ``DATABASE_URL`` says so.
    """
    own = {name: value for name, value in os.environ.items() if name not in _OF_REAL_DESK}
    # One core is to be one core: no threads of the linear algebra beside it.
    own |= {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
    own |= {"DJANGO_SETTINGS_MODULE": "kitdesk.settings"}
    with tempfile.TemporaryDirectory() as folder, _database() as address:
        yield own | address | {"KITDESK_VAR": folder}


_OF_REAL_DESK = ("DATABASE_URL", "EMAIL_URL", "KITDESK_FILES", "KITDESK_BACKUPS")


@contextmanager
def _database() -> Iterator[dict[str, str]]:
    real = os.environ.get("DATABASE_URL", "")
    if not real.startswith("postgres"):
        yield {}
        return
    name = f"kitdesk_speed_{secrets.token_hex(6)}"
    server, scratch = (urlsplit(real)._replace(path=f"/{of}") for of in ("postgres", name))
    with psycopg.connect(server.geturl(), autocommit=True) as line:
        line.execute(sql.SQL("CREATE DATABASE {}").format(sql.Identifier(name)))
        try:
            yield {"DATABASE_URL": scratch.geturl()}
        finally:
            drop = sql.SQL("DROP DATABASE {} WITH (FORCE)").format(sql.Identifier(name))
            line.execute(drop)
