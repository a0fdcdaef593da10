"""Having the history verified once a week, by a worker."""

from __future__ import annotations

import time
from collections.abc import Sequence
from datetime import timedelta

from django.utils import timezone
from django_tasks import task
from django_tasks_db.models import DBTaskResult

from kitdesk.lasting_worker import DEAD_AFTER_S, UNFINISHED, newest_beat
from rentals.actions.errand_claims import do_short_work
from rentals.actions.verifying import note_verified
from rentals.models import Verification
from rentals.seals.heads import head_from_words, told_heads
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
        verify_by_itself.enqueue([f"{number}:{mac}" for number, mac in told_heads().items()])


@task(priority=-50)
def verify_by_itself(heads: Sequence[str] = ()) -> int:
    """Verify, and note how many faults there are. The heads of the log that the machine with the
    clock has told come along, as ``N:MAC``: the worker may be on another one.

    While others work, a row may be read later than the event that it follows from: only what a
    second look finds too is a fault.
    """
    told = dict(map(head_from_words, heads))
    faults = set(verify(told, between=do_short_work))
    if faults:
        faults &= set(verify(told, between=do_short_work))
    note_verified(len(faults))
    return len(faults)
