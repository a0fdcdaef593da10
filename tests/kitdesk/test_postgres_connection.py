"""How the desk's connections to PostgreSQL are set."""

import os
import subprocess
import sys

import pytest
from django.conf import settings
from django.db import connection

ADDRESS = "postgres://desk@db.example/desk"
ASK = "from kitdesk import settings; print(settings.DATABASES['default'].get('OPTIONS'))"


@pytest.mark.django_db
def test_postgres_translates_no_query_to_machine_code():
    if connection.vendor != "postgresql":
        pytest.skip("SQLite has no such thing")
    with connection.cursor() as cursor:
        cursor.execute("SHOW jit")
        assert cursor.fetchone() == ("off",)


@pytest.mark.any_database
def test_what_the_address_asks_of_postgres_is_kept(tmp_path):
    def options(address):
        environment = os.environ | {"DATABASE_URL": address, "KITDESK_VAR": str(tmp_path)}
        words = [sys.executable, "-c", ASK]
        done = subprocess.run(
            words, cwd=settings.BASE_DIR, env=environment, capture_output=True, check=True
        )
        return done.stdout.decode().strip()

    assert options(ADDRESS) == "{'options': '-c jit=off'}"
    asked = options(f"{ADDRESS}?sslmode=require&options=-c%20work_mem%3D8MB")
    assert "'sslmode': 'require'" in asked
    assert "'options': '-c jit=off -c work_mem=8MB'" in asked
