"""The address for monitors."""

import re
import threading
import time
from datetime import timedelta

import pytest
from django.db import OperationalError, connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from django_tasks_db.models import DBTaskResult, get_date_max

from kitdesk.lasting_worker import DIED, beat
from kitdesk.views import health
from kitdesk.watching import ground, keeping, work
from rentals.actions.verifying import note_verified
from rentals.models import Student
from rentals.seals.chain import head_of_log
from tests.factories import StudentFactory

PARTS = ["database", "migrations", "worker", "queue", "mail", "webhooks"]
PARTS += ["disk", "backup", "verify", "clock"]
UNITS = "_(s|bytes|jobs|mails|steps|webhooks|calls)$|^(backups|faults)$"


@pytest.fixture
def job(db) -> DBTaskResult:
    return DBTaskResult.objects.create(
        status="READY",
        args_kwargs={"args": [], "kwargs": {}},
        task_path="x.y",
        backend_name="default",
        run_after=get_date_max(),
    )


def _age(job: DBTaskResult, **columns: object) -> None:
    DBTaskResult.objects.filter(pk=job.pk).update(**columns)


@pytest.mark.django_db
def test_needs_no_sign_in_and_names_every_part_with_its_state_and_nobody():
    student = StudentFactory(name="Wilhelmina Quist")
    answer = Client().get("/health")
    assert answer.status_code == 200
    told = answer.json()
    facts = {key: told[key] for key in list(told) if key not in ("state", "checks")}
    assert facts == {
        "database": "ok",
        "oldest_waiting_job_s": None,
        "running_too_long": 0,
        "mail": "files",
        "log_head": str(head_of_log()),
    }
    assert list(told["checks"]) == PARTS
    for check in told["checks"].values():
        assert check.pop("state") in ("ok", "warning")
        assert check.pop("sentence").endswith(".")
        numbers = set(check)
        assert all(re.search(UNITS, number) for number in numbers)
    words = answer.content.decode()
    assert student.name not in words and Student.objects.get().email not in words
    assert "python" not in words and "/" not in words.replace(told["log_head"], "")


def test_tells_the_age_of_the_oldest_waiting_job(job):
    _age(job, enqueued_at=timezone.now() - timedelta(seconds=90))
    assert 90 <= health.seen_now()["oldest_waiting_job_s"] < 100


def test_counts_a_job_that_runs_for_too_long(job):
    started = timezone.now() - work.STUCK_AFTER - timedelta(minutes=1)
    _age(job, status="RUNNING", started_at=started)
    assert health.seen_now()["running_too_long"] == 1
    assert health.seen_now()["checks"]["queue"]["state"] == "warning"


def test_tells_of_jobs_that_failed_but_not_of_those_whose_worker_is_gone(job):
    now = timezone.now()
    _age(job, status="FAILED", finished_at=now, traceback="Traceback")
    told = health.seen_now()["checks"]["queue"]
    assert told["state"] == "warning" and told["failed_jobs"] == 1
    assert told["sentence"] == "1 job failed in the last 2 hours. No work waits."
    for otherwise in ({"traceback": DIED}, {"finished_at": now - work.FAILURE_TOLD}):
        _age(job, **{"finished_at": now, "traceback": "Traceback"} | otherwise)
        assert health.seen_now()["checks"]["queue"]["failed_jobs"] == 0


@pytest.mark.django_db
def test_it_costs_few_queries():
    ground.shipped_migrations()
    with CaptureQueriesContext(
        connection,
    ) as queries:
        health.seen_now()
    assert len(queries) <= 9


@pytest.mark.django_db
def test_all_is_ok_on_a_desk_that_is_looked_after(settings):
    beat("1")
    note_verified(0)
    told = health.seen_now()
    assert told["state"] == "ok", told


@pytest.mark.django_db
@pytest.mark.parametrize("lacking", ["room", "tables"])
def test_answers_503_where_the_desk_cannot_serve(lacking, monkeypatch):
    if lacking == "room":
        monkeypatch.setattr(keeping, "free_bytes", lambda folder: keeping.FULL_BYTES - 1)
    else:
        shipped = ground.shipped_migrations() | {("rentals", "9999_later")}
        monkeypatch.setattr(ground, "shipped_migrations", lambda: shipped)
    answer = Client().get("/health")
    assert answer.status_code == 503
    assert answer.json()["state"] == "failed"
    assert answer.json()["database"] == "ok"


@pytest.mark.django_db
def test_answers_503_when_the_database_does_not_answer(monkeypatch):
    def refused():
        raise OperationalError("unable to open database file")

    monkeypatch.setattr(health, "seen_now", refused)
    answer = Client().get("/health")
    assert answer.status_code == 503
    assert answer.json()["database"] == "not reachable (OperationalError)"
    assert answer.json()["checks"]["database"]["state"] == "failed"


@pytest.mark.any_database
def test_a_database_that_hangs_is_waited_for_by_one_look_alone(monkeypatch):
    is_back, looks = threading.Event(), []

    def hang():
        looks.append(time.monotonic())
        is_back.wait(30)
        return {"state": "ok"}

    monkeypatch.setattr(health, "seen_now", hang)
    monkeypatch.setattr(health, "PATIENCE_S", 0.05)
    client = Client()
    try:
        answers = [client.get("/health") for _ in range(3)]
        assert [answer.status_code for answer in answers] == [503] * 3
        assert "does not answer within" in answers[0].json()["database"]
        assert len(looks) == 1
    finally:
        is_back.set()
