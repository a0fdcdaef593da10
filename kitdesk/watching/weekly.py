"""Having the history verified once a week, by a worker."""

from __future__ import annotations

import time
from datetime import timedelta

from django.utils import timezone
from django_tasks import task
from django_tasks_db.models import DBTaskResult

from kitdesk.lasting_worker import DEAD_AFTER_S, UNFINISHED, newest_beat
from rentals.actions.verifying import note_verified
from rentals.models import Verification
from rentals.verify import verify

EVERY = timedelta(days=7)


def verify_weekly() -> None:
    """Ask for it, where it is due, was not asked for yet, and a worker is there to do it."""
    beat = newest_beat()
    if beat is None or time.time() - beat > DEAD_AFTER_S:
        return
    now = timezone.now()
    # One of a time to come was before the clock was set back.
    if Verification.objects.filter(at__range=(now - EVERY, now + EVERY)).exists():
        return
    unfinished = DBTaskResult.objects.filter(status__in=UNFINISHED)
    if not unfinished.filter(task_path=verify_by_itself.module_path).exists():
        verify_by_itself.enqueue()


@task(priority=-50)
def verify_by_itself() -> int:
    """Verify, and note how many faults there are.

    While others work, a row may be read later than the event that it follows from: only what a
    second look finds too is a fault.
    """
    faults = set(verify())
    if faults:
        faults &= set(verify())
    note_verified(len(faults))
    return len(faults)
