"""A worker outlives a lock that lasts longer than anybody waits for one."""

import sqlite3
import threading
from datetime import timedelta

import pytest
from django.core.files.base import ContentFile
from django.core.management import call_command
from django.db import OperationalError, connection
from django.utils import timezone
from django_tasks_db.models import DBTaskResult, DBTaskResultQuerySet

from kitdesk import lasting_worker
from kitdesk.lasting_worker import LastingWorker
from kitdesk.management.commands import prepare
from readiness.actions.upload import store_upload
from rentals.actions.errand_claims import claim_errand
from rentals.actions.errands import ErrandAsked, ask_errand
from rentals.actions.mail_tasks import send_what_is_due
from rentals.models import Errand, ErrandKind
from rentals.states import ErrandState
from tests.factories import complete_kit

LOCKED = "database is locked"


@pytest.fixture
def queue(settings, transactional_db, monkeypatch):
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}
    monkeypatch.setattr(lasting_worker.time, "sleep", lambda seconds: None)


def _worker() -> LastingWorker:
    return LastingWorker(
        queue_names=["*"],
        interval=0.01,
        batch=True,
        backend_name="default",
        startup_delay=False,
        max_tasks=None,
        worker_id="worker",
        excluded_queue_names=[],
    )


def _state() -> str:
    return DBTaskResult.objects.earliest("enqueued_at").status


def test_a_queue_that_cannot_be_reached_is_tried_again(queue, monkeypatch, caplog):
    send_what_is_due.enqueue()
    reach, refusals = DBTaskResultQuerySet.get_locked, [OperationalError(LOCKED)] * 3

    def get_locked(tasks: DBTaskResultQuerySet) -> DBTaskResult | None:
        if refusals:
            raise refusals.pop()
        return reach(tasks)

    monkeypatch.setattr(DBTaskResultQuerySet, "get_locked", get_locked)
    _worker().run()
    assert _state() == "SUCCESSFUL"
    assert caplog.text.count("The queue cannot be reached") == 3


def test_the_outcome_of_a_task_is_written_once_the_lock_is_gone(queue, monkeypatch):
    send_what_is_due.enqueue()
    save, refusals = DBTaskResult.save, [OperationalError(LOCKED)] * 9

    def locked_save(result: DBTaskResult, **words: object) -> None:
        if result.status == "SUCCESSFUL" and refusals:
            raise refusals.pop()
        save(result, **words)

    monkeypatch.setattr(DBTaskResult, "save", locked_save)
    monkeypatch.setattr("rentals.through_locks.time.sleep", lambda seconds: None)
    _worker().run()
    assert not refusals
    assert _state() == "SUCCESSFUL"


@pytest.mark.any_database
def test_a_real_lock_on_the_file_is_waited_for(queue, monkeypatch):
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL has no lock on the whole")
    send_what_is_due.enqueue()
    connection.close()
    monkeypatch.setitem(connection.settings_dict["OPTIONS"], "timeout", 0.05)
    other = sqlite3.connect(
        connection.settings_dict["NAME"], isolation_level=None, check_same_thread=False
    )
    other.execute("BEGIN IMMEDIATE")
    met = threading.Event()
    monkeypatch.setattr(lasting_worker.time, "sleep", lambda seconds: met.set())

    def let_go() -> None:
        met.wait(60)
        other.execute("ROLLBACK")

    waiting = threading.Thread(target=let_go)
    waiting.start()
    _worker().run()
    waiting.join()
    other.close()
    assert met.is_set()
    assert _state() == "SUCCESSFUL"


@pytest.mark.parametrize("next_one", ["tick", "prepare"])
def test_a_task_whose_worker_died_counts_as_failed_for_whatever_runs_next(
    queue, clean_cache, monkeypatch, next_one
):
    monkeypatch.setattr(prepare, "call_command", lambda *words, **facts: None)
    send_what_is_due.enqueue()
    begun = timezone.now() - timedelta(minutes=2)
    DBTaskResult.objects.update(status="RUNNING", started_at=begun, worker_ids=["dead", "alive"])
    lasting_worker.beat("alive")
    call_command(next_one, verbosity=0)
    assert _state() == "RUNNING"
    DBTaskResult.objects.update(worker_ids=["alive", "dead"])
    call_command(next_one, verbosity=0)
    assert _state() == "FAILED"


def test_a_task_that_runs_for_hours_is_lost_whatever_its_worker_says(queue, clean_cache):
    send_what_is_due.enqueue()
    begun = timezone.now() - timedelta(hours=3)
    DBTaskResult.objects.update(status="RUNNING", started_at=begun, worker_ids=["alive"])
    lasting_worker.beat("alive")
    assert len(lasting_worker.give_up_lost_tasks()) == 1
    assert _state() == "FAILED"


def test_a_start_takes_up_captures_that_a_dead_worker_left(queue, clean_cache, monkeypatch):
    monkeypatch.setattr(prepare, "call_command", lambda *words, **facts: None)
    upload = store_upload([ContentFile(b"1,2", "still.csv")], kit=complete_kit())
    upload.captures.update(
        status="scoring", attempts=1, claimed_at=timezone.now() - timedelta(minutes=3)
    )
    call_command("prepare", verbosity=0)
    assert upload.captures.get().status == "waiting"
    upload.captures.update(
        status="scoring", attempts=3, claimed_at=timezone.now() - timedelta(minutes=3)
    )
    call_command("prepare", verbosity=0)
    assert "broken off 3 times" in upload.captures.get().refusal


def test_a_capture_whose_worker_died_before_it_had_claimed_it_is_queued_again(queue, clean_cache):
    upload = store_upload([ContentFile(b"1,2", "still.csv")], kit=complete_kit())
    begun = timezone.now() - timedelta(minutes=2)
    DBTaskResult.objects.update(status="RUNNING", started_at=begun, worker_ids=["dead"])
    assert (lasting_worker.take_up_lost_work(), lasting_worker.take_up_lost_work()) == (1, 0)
    assert sorted(DBTaskResult.objects.values_list("status", flat=True)) == ["FAILED", "READY"]
    _worker().run()
    assert upload.captures.get().status not in ("waiting", "scoring")


@pytest.mark.parametrize("next_one", ["tick", "prepare"])
def test_whatever_runs_next_takes_up_an_errand_of_a_dead_worker(
    queue, clean_cache, monkeypatch, next_one
):
    monkeypatch.setattr(prepare, "call_command", lambda *words, **facts: None)
    asked = ErrandAsked(ErrandKind.VERIFY, "Check of the log", about="/", seen_by="/")
    errand = ask_errand(asked)
    claim_errand(errand.pk)
    begun = timezone.now() - timedelta(minutes=2)
    Errand.objects.update(claimed_at=begun)
    DBTaskResult.objects.update(status="RUNNING", started_at=begun, worker_ids=["dead"])
    call_command(next_one, verbosity=0)
    errand.refresh_from_db()
    assert errand.state == ErrandState.WAITING
    _worker().run()
    errand.refresh_from_db()
    assert (errand.state, errand.attempts) == (ErrandState.DONE, 2)
