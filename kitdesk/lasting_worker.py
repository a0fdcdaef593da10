"""A worker that outlives any lock of the database and any failure of one task."""

from __future__ import annotations

import logging
import time
from collections.abc import Callable
from datetime import timedelta
from types import FrameType
from typing import Any

from django.core.cache import cache
from django.db import DatabaseError, close_old_connections, connection
from django.utils import timezone
from django_tasks_db.management.commands.db_worker import Worker
from django_tasks_db.models import DBTaskResult, DBTaskResultQuerySet, TaskResultStatus
from django_tasks_db.utils import exclusive_transaction

from kitdesk.traces.log_lines import task_line
from readiness.actions.scoring_tasks import requeue_expired, requeue_unbegun
from rentals.actions.errand_claims import PROCESS_ENDS, goes_first
from rentals.actions.errands import LONG_WORK, do_errand, take_up_errands
from rentals.through_locks import through_locks

log = logging.getLogger("kitdesk.worker")

#: Seconds for which the outcome of a task is tried to be written down.
WRITTEN_WITHIN_S = 3600
_FIRST_REST_S, _LONGEST_REST_S = 0.5, 10.0
#: A living worker says so this often; one that has not for so long has died.
BEAT_EVERY_S, DEAD_AFTER_S = 20.0, 90
UNFINISHED = (TaskResultStatus.READY, TaskResultStatus.RUNNING)
_NEWEST_BEAT, _NEWEST_TICK = "newest-beat-of-workers", "newest-tick-of-the-clock"
#: What stands in a task whose worker is gone.
DIED = "The worker died."
#: A task of ours takes minutes at most, whatever its worker says.
LOST_AFTER = timedelta(hours=2)


class LastingWorker(Worker):
    """The library's worker with a loop of its own: the library's ends at the first lock that it
    meets outside of a task, and locks all of an SQLite database only to find no task.
    """

    _depth = 0

    @property
    def running_task(self) -> bool:
        """Whether a task is at hand; a short one may be done amid a long one."""
        return self._depth > 0

    @running_task.setter
    def running_task(self, running: bool) -> None:
        self._depth = max(0, self._depth + (1 if running else -1))

    def run(self) -> None:
        """Do tasks until stopped. What the database refuses is logged and tried again."""
        pause = _FIRST_REST_S
        with goes_first(self._do_short_one):
            while self.running:
                try:
                    found = self._do_one(self._ready())
                except DatabaseError:
                    log.exception("The queue cannot be reached; tried again in %.1f s", pause)
                    connection.close()
                    time.sleep(pause)
                    pause = min(pause * 2, _LONGEST_REST_S)
                    continue
                pause = _FIRST_REST_S
                if not found:
                    if self.batch:
                        return
                    time.sleep(self.interval)

    def _ready(self) -> DBTaskResultQuerySet:
        return DBTaskResult.objects.ready().filter(backend_name=self.backend_name)

    def _do_short_one(self) -> bool:
        return self.running and self._do_one(self._ready().filter(priority__gt=LONG_WORK))

    def _do_one(self, tasks: DBTaskResultQuerySet) -> bool:
        """Do the first of these; False where none waits."""
        close_old_connections()
        # Looking takes no lock: only who has seen a task asks for it.
        if not tasks.exists():
            return False
        with exclusive_transaction(tasks.db):
            task = tasks.get_locked()
            if task is not None:
                task.claim(self.worker_id)
        if task is not None:
            self.run_task(task)
        return task is not None

    def shutdown(self, signum: int, frame: FrameType | None) -> None:
        """End after the task at hand; an errand is given back at its next step."""
        PROCESS_ENDS.set()
        super().shutdown(signum, frame)

    def run_task(self, db_task_result: DBTaskResult) -> None:
        """Run one task; a lock that is in the way of writing down its outcome is waited for."""
        db_task_result.set_successful = _waiting(db_task_result.set_successful)
        db_task_result.set_failed = _waiting(db_task_result.set_failed)
        with task_line(db_task_result):
            super().run_task(db_task_result)


def _waiting(write: Callable[[Any], None]) -> Callable[[Any], None]:
    def write_through_locks(outcome: Any) -> None:
        through_locks(lambda: write(outcome), longest_s=WRITTEN_WITHIN_S)

    return write_through_locks


def beat(worker_id: str) -> None:
    """Say that this worker lives."""
    now = time.time()
    cache.set(_heart_of(worker_id), now, DEAD_AFTER_S)
    cache.set(_NEWEST_BEAT, now, None)


def note_tick() -> None:
    """Say that what is due by the clock is being done."""
    cache.set(_NEWEST_TICK, time.time(), None)


def newest_beat() -> float | None:
    """When any worker has last said that it lives, in seconds of the epoch; None also where that
    was by another clock, which has been set back since.
    """
    return newest_signs()[0]


def newest_signs() -> tuple[float | None, float | None]:
    """The same, and when what is due by the clock was last begun. One query."""
    found = cache.get_many([_NEWEST_BEAT, _NEWEST_TICK])
    latest = time.time() + DEAD_AFTER_S
    beat_at, tick_at = found.get(_NEWEST_BEAT), found.get(_NEWEST_TICK)
    return (
        None if beat_at is None or beat_at > latest else beat_at,
        None if tick_at is None or tick_at > latest else tick_at,
    )


def keep_beating(worker_id: str) -> None:
    """Say so for ever; for a thread of the worker's own. What the database refuses is tried again
    with the next beat.
    """
    while True:
        try:
            beat(worker_id)
        except DatabaseError:
            log.warning("Could not say that worker %s lives", worker_id)
        finally:
            connection.close()
        time.sleep(BEAT_EVERY_S)


def take_up_lost_work() -> int:
    """Queue again what dead workers left behind, and call their tasks failed; how many captures
    that were. For whatever runs next: a start, a worker, the minute's tick.
    """
    lost = give_up_lost_tasks()
    take_up_errands(_arguments_of(lost, do_errand.module_path))
    unbegun = requeue_unbegun(lost)
    return unbegun + requeue_expired()


def give_up_lost_tasks() -> list[DBTaskResult]:
    """Call those tasks failed whose worker has died, and give them. Their work is taken up again
    elsewhere: captures and mails are claimed with a lease.
    """
    now, running = timezone.now(), DBTaskResult.objects.running()
    beats = timedelta(seconds=DEAD_AFTER_S)
    # One that began in the future did so before the clock was set back.
    started = running.exclude(started_at__range=(now - beats, now + beats))
    lost = [task for task in started if task.started_at < now - LOST_AFTER or _is_dead(task)]
    return [task for task in lost if _give_up(task)]


def _arguments_of(tasks: list[DBTaskResult], path: str) -> set[int]:
    """What tasks of one sort were to be done with: the number of a row."""
    return {task.args_kwargs["args"][0] for task in tasks if task.task_path == path}


def _give_up(task: DBTaskResult) -> bool:
    """False where somebody else was faster, or the worker lives after all."""
    running = DBTaskResult.objects.running().filter(pk=task.pk)
    return bool(
        running.update(
            status=TaskResultStatus.FAILED,
            finished_at=timezone.now(),
            exception_class_path="builtins.ConnectionError",
            traceback=DIED,
        )
    )


def _is_dead(task: DBTaskResult) -> bool:
    if not task.worker_ids:
        return True
    last = cache.get(_heart_of(task.worker_ids[-1]))
    return last is None or abs(time.time() - last) > DEAD_AFTER_S


def _heart_of(worker_id: str) -> str:
    return f"worker-{worker_id}"
