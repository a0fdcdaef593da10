"""The address for monitors."""

from datetime import timedelta

import pytest
from django.db import OperationalError
from django.test import Client
from django.utils import timezone
from django_tasks_db.models import DBTaskResult, get_date_max

from kitdesk.views import health
from rentals.seals.chain import head_of_log


@pytest.fixture
def job(db) -> DBTaskResult:
    return DBTaskResult.objects.create(
        status="READY",
        args_kwargs={"args": [], "kwargs": {}},
        task_path="x.y",
        backend_name="default",
        run_after=get_date_max(),
    )


@pytest.mark.django_db
def test_needs_no_sign_in_and_says_that_nothing_waits():
    answer = Client().get("/health")
    assert answer.status_code == 200
    assert answer.json() == {
        "database": "ok",
        "oldest_waiting_job_s": None,
        "running_too_long": 0,
        "mail": "files",
        "log_head": str(head_of_log()),
    }


def test_tells_the_age_of_the_oldest_waiting_job(job):
    DBTaskResult.objects.filter(pk=job.pk).update(
        enqueued_at=timezone.now() - timedelta(seconds=90)
    )
    assert 90 <= Client().get("/health").json()["oldest_waiting_job_s"] < 100


def test_counts_a_job_that_runs_for_too_long(job):
    started = timezone.now() - health.STUCK_AFTER - timedelta(minutes=1)
    DBTaskResult.objects.filter(pk=job.pk).update(status="RUNNING", started_at=started)
    assert Client().get("/health").json()["running_too_long"] == 1


@pytest.mark.django_db
def test_answers_503_when_the_database_does_not_answer(monkeypatch):
    def refused():
        raise OperationalError("unable to open database file")

    monkeypatch.setattr(health, "_queue", refused)
    answer = Client().get("/health")
    assert answer.status_code == 503
    assert answer.json() == {"database": "not reachable (OperationalError)"}
