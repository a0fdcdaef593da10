"""Whether a backup can be put back: into a scratch desk, whose logs are then verified."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

from django.conf import settings
from django.db import connection

from kitdesk import throwaway_postgres
from kitdesk.backups.problems import NotPossible

MANAGE = Path(settings.BASE_DIR) / "manage.py"
_LINES = 12


def try_backup(file: Path) -> str:
    """Put the backup into a scratch place beside the desk, bring it up to date, and verify all of
    its logs. Returns what that said.

    Raises NotPossible with the words of the step that failed.
    """
    with tempfile.TemporaryDirectory(dir=settings.VAR, prefix=".kitdesk-check-") as folder:
        scratch = os.environ | {"KITDESK_VAR": str(Path(folder) / "desk"), "KITDESK_BACKUPS": "off"}
        for elsewhere in ("DATABASE_URL", "KITDESK_FILES", "KITDESK_BACKUPS_S3"):
            scratch.pop(elsewhere, None)
        # A plain backup is without the key, and this machine has it.
        scratch["KITDESK_LOG_KEY"] = settings.KITDESK_LOG_KEY
        if connection.vendor != "postgresql":
            return _restore_and_verify(file, scratch)
        programs = throwaway_postgres.programs()
        if programs is None:
            raise NotPossible(
                "A backup of PostgreSQL is tried on a server of its own, for which PostgreSQL's own"
                " programs must be on this machine: `sudo apt-get install postgresql`."
            )
        with throwaway_postgres.running(programs) as address:
            template = address.rsplit("/", 1)[0] + "/postgres"
            return _restore_and_verify(file, scratch | {"DATABASE_URL": template})


def _restore_and_verify(file: Path, scratch: dict[str, str]) -> str:
    said = []
    for words in (("restore", str(file)), ("verify",)):
        done = subprocess.run(
            [sys.executable, str(MANAGE), *words],
            env=scratch,
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode:
            lines = (done.stderr.strip() or done.stdout.strip()).splitlines()
            raise NotPossible(f"{words[0]} failed: " + "\n".join(lines[-_LINES:]))
        said.append(done.stdout.strip().splitlines()[-1])
    return said[-1]
