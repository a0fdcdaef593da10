"""A worker killed with -9 amid long work: the page says so, and another worker does it whole."""

from __future__ import annotations

import os
import re
import signal
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from tests.kitdesk.migrated import copy_template

pytestmark = [pytest.mark.night, pytest.mark.any_database]
ROOT = Path(__file__).resolve().parents[2]
ASK = """
import django; django.setup()
from rentals.actions.errands import ErrandAsked, ask_errand
from rentals.models import ErrandKind
from tests.factories import CourseRunFactory, EnrolmentFactory, assigned_loan, complete_kit
run = CourseRunFactory()
for _ in range(6):
    assigned_loan(complete_kit(run.kit_type), EnrolmentFactory(run=run))
facts = {"run": run.pk, "enrolments": [], "inside": False, "site_url": ""}
ask_errand(ErrandAsked(ErrandKind.RUN_PAPERS, "Lists", about="/", seen_by="/", facts=facts))
"""
ASK_FLEET = """
import django; django.setup()
from rentals.actions.fleet_errand import ask_fleet
from rentals.forms.fleet import FleetForm
from rentals.roster.fleet_rows import fingerprint, judge_fleet
from rentals.selectors.fleet import fleet_on_file
from tests.factories import KitTypeFactory
from tests.rentals.views.test_fleet import rows
typed = {"table": rows(*map(str, range(1, 61))), "kit_type": str(KitTypeFactory.create().pk)}
form = FleetForm(typed, {})
assert form.is_valid(), form.errors
kit_type = form.cleaned_data["kit_type"]
seen = fingerprint(judge_fleet(form.fleet, fleet_on_file(form.fleet, kit_type)))
ask_fleet(form.fleet, kit_type, typed=typed, seen=seen)
"""
KITS_AND_PARTS = "SELECT (SELECT count(*) FROM rentals_kit), (SELECT count(*) FROM rentals_part)"
SCORED = """
from django.conf import settings
settings.TASKS = {"default": {"BACKEND": "django_tasks.backends.immediate.ImmediateBackend"}}
import django; django.setup()
from readiness.actions.upload import store_upload
from readiness.models import BenchPlan, Capture
from tests.factories import KitTypeFactory, complete_kit
from tests.readiness.captures import kit_files
kit_type = KitTypeFactory.create()
for seed in range(20):
    store_upload(kit_files(complete_kit(kit_type, cleared=False).code, seed=seed))
assert Capture.objects.filter(status="scored").count() == 60
plan = BenchPlan.of(kit_type)
plan.noise_limit_uv = 0.05
plan.save()
"""
ASK_RESCORE = """
import django; django.setup()
from rentals.actions.errands import ErrandAsked, ask_errand
from rentals.models import ErrandKind, KitType
facts = {"kit_type": KitType.objects.get().pk}
ask_errand(ErrandAsked(ErrandKind.RESCORE, "Again", about="/", seen_by="/", facts=facts))
"""
REPLACED = "SELECT count(*) FROM readiness_verdict WHERE NOT current"
#: Three minutes go by, in which nobody heard of that worker.
LATER = """
UPDATE rentals_errand SET claimed_at = datetime(claimed_at, '-3 minutes');
UPDATE django_tasks_database_dbtaskresult SET started_at = datetime(started_at, '-3 minutes');
DELETE FROM kitdesk_cache;
"""


def _process(folder: Path, *words: str) -> subprocess.Popen[bytes]:
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    around = {"KITDESK_VAR": str(folder), "DJANGO_SETTINGS_MODULE": "kitdesk.settings"}
    return subprocess.Popen([sys.executable, *words], cwd=ROOT, env=kept | around)


def _done(folder: Path, *words: str) -> None:
    assert _process(folder, *words).wait() == 0


def _row(folder: Path, query: str) -> tuple[object, ...]:
    with closing(sqlite3.connect(folder / "kitdesk.sqlite3", timeout=30)) as database:
        return database.execute(query).fetchone()


def _until(folder: Path, state: str) -> None:
    while _row(folder, "SELECT state FROM rentals_errand") != (state,):
        time.sleep(0.01)


def _asked(desk: Path, what: str) -> None:
    copy_template(desk)
    _done(desk, "manage.py", "migrate", "-v0")
    _done(desk, "manage.py", "createcachetable")
    _done(desk, "-c", what)


def _killed_and_taken_up(desk: Path, killed_when: Callable[[], bool]) -> None:
    """One worker is killed amid the work; another one does it to its end."""
    first = _process(desk, "manage.py", "worker")
    _until(desk, "working")
    while not killed_when():
        time.sleep(0.01)
    first.send_signal(signal.SIGKILL)
    first.wait()
    assert _row(desk, "SELECT state, done FROM rentals_errand")[0] == "working"
    with closing(sqlite3.connect(desk / "kitdesk.sqlite3", timeout=30)) as database:
        database.executescript(LATER)
    _done(desk, "manage.py", "tick")
    assert _row(desk, "SELECT state FROM rentals_errand") == ("waiting",)
    second = _process(desk, "manage.py", "worker")
    _until(desk, "done")
    second.terminate()
    second.wait()


def test_a_worker_killed_amid_papers_leaves_them_to_another_one(tmp_path: Path):
    desk = tmp_path / "desk"
    _asked(desk, ASK)
    _killed_and_taken_up(desk, lambda: True)
    told = _row(desk, "SELECT attempts, done, total, said FROM rentals_errand")
    assert told == (2, 12, 12, "6 packing lists and what to fetch for them.")
    [piece] = _row(desk, "SELECT content FROM rentals_errandpiece")
    assert bytes(piece).startswith(b"%PDF")


def test_a_worker_killed_amid_a_fleet_leaves_the_rest_to_another_one(tmp_path: Path):
    desk = tmp_path / "desk"
    _asked(desk, ASK_FLEET)
    _killed_and_taken_up(desk, lambda: _row(desk, KITS_AND_PARTS)[0] >= 3)
    assert _row(desk, KITS_AND_PARTS) == (60, 300)
    attempts, done, total, said = _row(
        desk, "SELECT attempts, done, total, said FROM rentals_errand"
    )
    assert (attempts, done, total) == (2, 300, 300)
    before = re.search(r" (\d+) rows were there before\.", str(said))
    assert before is not None and 0 < int(before[1]) < 300 and int(before[1]) % 5 == 0
    assert str(said).startswith(f"{60 - int(before[1]) // 5} new kit")
    _done(desk, "manage.py", "verify")


def test_a_worker_killed_amid_a_rescoring_leaves_the_rest_to_another_one(tmp_path: Path):
    desk = tmp_path / "desk"
    _asked(desk, SCORED)
    _done(desk, "-c", ASK_RESCORE)
    _killed_and_taken_up(desk, lambda: _row(desk, REPLACED) != (0,))
    # Each capture has one verdict more, none two.
    assert _row(desk, REPLACED) == (60,)
    once = "SELECT max(n) FROM (SELECT count(*) AS n FROM readiness_verdict GROUP BY capture_id)"
    assert _row(desk, once) == (2,)
    attempts, total, said = _row(desk, "SELECT attempts, total, said FROM rentals_errand")
    assert attempts == 2 and total == 20
    assert str(said).startswith(f"{total} captures were scored again; ")
    assert "A worker ended in the middle: what it had done counts" in str(said)
    assert _row(desk, "SELECT count(*) FROM rentals_kit WHERE cleared") == (0,)
