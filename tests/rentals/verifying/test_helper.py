"""A helper can be started anew: it sets Django up before it looks at any model."""

import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.any_database

ROOT = Path(__file__).resolve().parents[3]


def test_a_helper_begins_with_nothing_set_up():
    begin = "from rentals.verifying.helper import set_up, run; set_up('another.sqlite3');"
    look = "from rentals.verifying.jobs import VerifyJob; VerifyJob('end');"
    name = "from django.db import connection; print(connection.settings_dict['NAME'])"
    done = subprocess.run(
        [sys.executable, "-c", f"{begin} {look} {name}"], cwd=ROOT, capture_output=True, check=False
    )
    assert done.returncode == 0, done.stderr.decode()
    assert done.stdout.decode().strip() == "another.sqlite3"
