"""The real queue: what is dropped waits, any number of workers score it, none scores it twice."""

import os
import random
import subprocess
import sys
import time
from datetime import timedelta
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection
from django.urls import reverse
from django.utils import timezone
from django_tasks_db.models import DBTaskResult

from kitdesk.lasting_worker import take_up_lost_work
from readiness.actions.upload import store_upload
from readiness.models import Capture, Verdict
from rentals.models import Kit
from rentals.verify import verify
from tests.factories import complete_kit
from tests.readiness.captures import capture_bytes, capture_file, kit_files

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture
def queue(settings, transactional_db):
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}


def test_a_drop_waits_is_scored_and_says_how_far_it_is(queue, signed_in):
    kit = complete_kit(cleared=False)
    upload = store_upload(
        [*kit_files(kit.code), capture_file("x.csv", capture_bytes("still", seed=9, drop=("kit",)))]
    )
    page = signed_in.get(upload.get_absolute_url())
    assert "<b data-progress-done>0</b> of <b data-progress-total>4</b>" in page.content.decode()
    call_command("db_worker", batch=True, startup_delay=False, verbosity=0)
    part = signed_in.get(upload.get_absolute_url() + "?asked=0", headers={"HX-Request": "true"})
    words = " ".join(part.content.decode().split())
    assert "All 4 files scored, except 1 that lacks a fact." in words
    assert part["HX-Refresh"] == "true"
    assert "being scored" in page.content.decode()
    assert 'id="drop-state" hx-swap-oob="true"' in words
    assert "being scored" not in words
    kit.refresh_from_db()
    assert kit.cleared
    answer = {f"c{upload.captures.get(name='x.csv').pk}-kit": kit.code}
    signed_in.post(
        reverse("readiness:capture_answer", args=[upload.captures.get(name="x.csv").pk]), answer
    )
    assert DBTaskResult.objects.filter(status="READY").count() == 1


@pytest.mark.slow
def test_two_workers_score_each_capture_once(queue, settings):
    kits = [complete_kit(cleared=False) for _ in range(4)]
    files = [file for seed, kit in enumerate(kits, 1) for file in kit_files(kit.code, seed=seed)]
    upload = store_upload(files)
    workers = [_worker(settings) for _ in range(2)]
    assert [worker.wait(120) for worker in workers] == [0, 0]
    assert set(upload.captures.values_list("status", "attempts")) == {("scored", 1)}
    assert Verdict.objects.count() == 12
    assert Kit.objects.filter(cleared=True).count() == 4


@pytest.mark.night
def test_workers_killed_amid_a_batch_lose_no_capture_and_score_none_twice(queue, settings):
    kits = [complete_kit(cleared=False) for _ in range(5)]
    files = [file for seed, kit in enumerate(kits, 1) for file in kit_files(kit.code, seed=seed)]
    upload = store_upload(files)
    draws = random.Random(3)
    for _ in range(4):
        before, more = _verdicts(), draws.randint(1, 3)
        worker = _worker(settings)
        while _verdicts() < before + more and worker.poll() is None:
            time.sleep(draws.uniform(0.005, 0.05))
        worker.kill()
        worker.wait()
        # Two minutes go by: the dead worker's claims and tasks run out.
        then = timezone.now() - timedelta(minutes=3)
        Capture.objects.filter(status="scoring").update(claimed_at=then, attempts=1)
        DBTaskResult.objects.filter(status="RUNNING").update(started_at=then)
        take_up_lost_work()
    assert _worker(settings).wait(120) == 0
    assert set(upload.captures.values_list("status", flat=True)) == {"scored"}
    assert _verdicts() == Verdict.objects.filter(current=True).count() == 15
    assert Kit.objects.filter(cleared=True).count() == 5
    assert not DBTaskResult.objects.filter(status__in=["READY", "RUNNING"]).exists()
    assert verify() == []


def _verdicts() -> int:
    return Verdict.objects.count()


def _worker(settings) -> subprocess.Popen:
    """A worker process on this test's database and folder."""
    at = settings.DATABASES["default"] | connection.settings_dict
    code = (
        "import django; from django.conf import settings; import tests.settings as base;"
        f"base.DATABASES['default']['NAME'] = {str(at['NAME'])!r};"
        f"base.MEDIA_ROOT = {str(settings.MEDIA_ROOT)!r};"
        "base.TASKS = {'default': {'BACKEND': 'django_tasks_db.DatabaseBackend'}};"
        "django.setup(); from django.core.management import call_command;"
        "call_command('db_worker', batch=True, startup_delay=False, verbosity=0)"
    )
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "tests.settings"}
    return subprocess.Popen([sys.executable, "-c", code], cwd=ROOT, env=environment)
