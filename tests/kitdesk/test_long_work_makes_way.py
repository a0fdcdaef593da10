"""A single worker does the short tasks between the parts of a long one, and looks for tasks without
a lock.
"""

from __future__ import annotations

import signal
import sqlite3
from collections.abc import Callable
from contextlib import closing

import pytest
from django.core.files.base import ContentFile
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from django_tasks_db.models import DBTaskResult

import kitdesk.errands
from kitdesk.lasting_worker import LastingWorker
from kitdesk.watching import weekly
from readiness.actions.upload import store_upload
from readiness.models import Capture
from rentals.actions import errand_work
from rentals.actions.errand_claims import PROCESS_ENDS, ErrandProgress, do_short_work, goes_first
from rentals.actions.errand_work import ErrandFunction, ErrandResult
from rentals.actions.errands import ErrandAsked, ask_errand
from rentals.errands import papers
from rentals.models import Errand, ErrandKind
from rentals.states import ErrandState
from tests.factories import CourseRunFactory, EnrolmentFactory, assigned_loan, complete_kit


@pytest.fixture
def worker(settings, transactional_db) -> LastingWorker:
    """One that ends once nothing waits."""
    settings.TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend"}}
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


@pytest.fixture
def check_is(monkeypatch) -> Callable[[ErrandFunction], Errand]:
    """Asks for a check of the log that does this instead."""

    def ask(work: ErrandFunction) -> Errand:
        monkeypatch.setitem(errand_work._WORK, ErrandKind.VERIFY, work)
        return ask_errand(ErrandAsked(ErrandKind.VERIFY, "Check", about="/", seen_by="/"))

    return ask


def drop(name: str) -> None:
    store_upload([ContentFile(name.encode(), name)], kit=complete_kit())


def unscored() -> int:
    return Capture.objects.filter(status=Capture.Status.WAITING).count()


def state_of(errand: Errand) -> str:
    return Errand.objects.get(pk=errand.pk).state


def test_captures_are_scored_before_and_between_the_parts_of_long_work(worker, check_is):
    waiting = []

    def work(errand: Errand, progress: ErrandProgress) -> ErrandResult:
        waiting.append(unscored())
        often = ErrandProgress(errand, every_s=0)
        often.begin(2, "parts")
        for part in range(2):
            drop(f"still-{part}.csv")
            waiting.append(unscored())
            often.step()
            waiting.append(unscored())
        return ErrandResult("Both.")

    errand = check_is(work)
    drop("still.csv")
    worker.run()
    assert waiting == [0, 1, 0, 1, 0]
    assert state_of(errand) == ErrandState.DONE


def test_one_long_work_is_not_done_amid_another(worker, check_is):
    begun = []

    def work(errand: Errand, progress: ErrandProgress) -> ErrandResult:
        begun.append(errand.pk)
        if len(begun) == 1:
            check_is(work)
        ErrandProgress(errand, every_s=0).begin(1, "parts")
        ended = Errand.objects.filter(state=ErrandState.DONE).count()
        assert len(begun) == ended + 1
        return ErrandResult("Done.")

    check_is(work)
    Errand.objects.update(about="/first/")
    worker.run()
    assert len(begun) == 2
    assert not Errand.objects.exclude(state=ErrandState.DONE).exists()


def test_a_worker_stopped_after_a_short_task_gives_its_long_one_back(worker, check_is):
    def work(errand: Errand, progress: ErrandProgress) -> ErrandResult:
        drop("still.csv")
        progress.begin(2, "parts")
        assert unscored() == 0
        worker.shutdown(signal.SIGTERM, None)
        ErrandProgress(errand, every_s=0).step()
        raise AssertionError("It went on.")

    errand = check_is(work)
    try:
        worker.run()
    finally:
        PROCESS_ENDS.clear()
    assert state_of(errand) == ErrandState.WAITING
    assert DBTaskResult.objects.ready().count() == 1


def test_no_short_task_is_done_amid_an_act(transactional_db):
    done: list[int] = []

    def short() -> bool:
        done.append(1)
        return False

    with goes_first(short):
        with transaction.atomic():
            do_short_work()
        assert not done
        do_short_work()
    do_short_work()
    assert done == [1]


def test_the_weekly_check_makes_way_as_well(transactional_db):
    done: list[int] = []
    with goes_first(lambda: bool(done.append(1))):
        weekly.verify_by_itself.call()
    assert len(done) == len(kitdesk.errands.all_jobs()) > 1


@pytest.mark.any_database
def test_papers_have_no_query_half_read_when_others_write(transactional_db, monkeypatch):
    """SQLite refuses to write after somebody else has, as long as a query of before is read."""
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL refuses no such write")
    monkeypatch.setattr(papers, "_FETCHED_AT_ONCE", 1)
    run = CourseRunFactory()
    for _ in range(3):
        assigned_loan(complete_kit(run.kit_type), EnrolmentFactory(run=run))
    facts = {"run": run.pk, "enrolments": [], "inside": False, "site_url": ""}
    errand = Errand(kind=ErrandKind.RUN_PAPERS, facts=facts)
    written = []

    class Told:
        def begin(self, total: int, at_hand: str) -> None:
            return

        def step(self) -> None:
            with closing(sqlite3.connect(connection.settings_dict["NAME"])) as other:
                other.execute("UPDATE rentals_courserun SET name = name || 'x'")
                other.commit()
            written.append(type(run).objects.update(name="run"))

    papers.papers_of_run(errand, Told())
    assert written == [1] * 6


def test_an_idle_worker_only_reads(worker):
    with CaptureQueriesContext(
        connection,
    ) as asked:
        worker.run()
    assert [query["sql"].split()[0] for query in asked] == ["SELECT"]
    assert "FOR UPDATE" not in asked[0]["sql"]
