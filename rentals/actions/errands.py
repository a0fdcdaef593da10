"""Asking for work in the background, and cancelling it.

An errand goes from waiting to at work to one of three ends. Each change is one function, here or in
`errand_claims`. What the work itself changes is recorded by the actions that it calls; that it was
asked for is no event of any kit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from django.utils import timezone
from django_tasks import task

from rentals import transaction
from rentals.models import Errand, ErrandKind, ErrandPiece
from rentals.states import OPEN_ERRANDS, ErrandState
from rentals.through_locks import through_locks

from .errand_claims import LEASE, claim_errand
from .errand_work import work_off
from .lock_order import lock_in_order
from .record import Actor

#: Errands and the files that they have made are kept for so long.
KEPT_FOR = timedelta(days=7)
#: The priority of long work among all tasks: the others wait for somebody.
LONG_WORK = -40
#: A worker that is alive says how far it is every second or so.
QUIET_S = 60
#: Seconds to wait for a database that something else holds.
LONGEST_WAIT_S = 600
_LONGEST_ADDRESS = 200
_CANCELLED_AND_DIED = "It was cancelled, and its worker ended before it could stop."
_DIED_TWICE = "The worker that did this ended in the middle, twice."
_ENDS_AGAIN = "If it ends once more, the log of the desk says why."


@dataclass(frozen=True)
class ErrandAsked:
    """What is asked for. `about` and `seen_by` are addresses, as in the model; `back` is where to
    go on if nothing comes of it, where that is another page than `about`.
    """

    kind: ErrandKind
    title: str
    about: str
    seen_by: str
    facts: Mapping[str, Any] = field(default_factory=dict)
    back: str = ""


@transaction.atomic
def ask_errand(asked: ErrandAsked, *, actor: Actor = None, at: datetime | None = None) -> Errand:
    """Have it done in the background. The same that is waiting or at work already for the same
    person is not begun twice: that one is returned.
    """
    facts = dict(asked.facts)
    same = Errand.objects.filter(
        kind=asked.kind, about=asked.about, asked_by=actor, state__in=OPEN_ERRANDS, stopping=False
    )
    for errand in same:
        if errand.facts == facts:
            return errand
    errand = Errand.objects.create(
        kind=asked.kind,
        title=asked.title[:200],
        about=asked.about,
        seen_by=asked.seen_by,
        facts=facts,
        # An address that is too long to be kept is as good as none: the page itself is there.
        goes_to=asked.back if len(asked.back) <= _LONGEST_ADDRESS else "",
        asked_by=actor,
        asked_at=at or timezone.now(),
    )
    do_errand.enqueue(errand.pk)
    return errand


@task(priority=LONG_WORK)
def do_errand(pk: int) -> str:
    """Do one errand, unless it was cancelled or somebody else does it; its state afterwards."""
    errand = through_locks(lambda: claim_errand(pk), longest_s=LONGEST_WAIT_S)
    if errand is None:
        return "nothing to do"
    state = work_off(errand)
    if state is ErrandState.WAITING:
        do_errand.enqueue(pk)
    return state


@transaction.atomic
def cancel_errand(errand: Errand, *, at: datetime | None = None) -> Errand:
    """Cancel it: at once where nobody has begun, else at the worker's next step. One that has
    ended stays as it is.
    """
    errand = Errand.objects.select_for_update(of=("self",)).get(pk=errand.pk)
    if errand.state == ErrandState.WAITING:
        errand.state, errand.ended_at = ErrandState.CANCELLED, at or timezone.now()
    if errand.is_open:
        errand.stopping = True
    errand.save(update_fields=["state", "ended_at", "stopping"])
    return errand


@transaction.atomic
def take_up_errands(lost_tasks: set[int], at: datetime | None = None) -> int:
    """Errands whose worker died are done once more, or given up; how many are done once more.

    Parameters
    ----------
    lost_tasks : set of int
        Errands whose task was given up, because its worker says nothing any more.
    """
    at = at or timezone.now()
    quiet = at - timedelta(seconds=QUIET_S)
    lost = Errand.objects.filter(pk__in=lost_tasks, state=ErrandState.WORKING, claimed_at__lt=quiet)
    unbegun = Errand.objects.filter(pk__in=lost_tasks, state=ErrandState.WAITING)
    dead = (lost, unbegun, LEASE.expired(at))
    keys = {pk for rows in dead for pk in rows.values_list("pk", flat=True)}
    taken_up = 0
    for errand in lock_in_order(Errand.objects.filter(pk__in=keys, state__in=OPEN_ERRANDS)):
        taken_up += _take_up(errand, at)
    return taken_up


def _take_up(errand: Errand, at: datetime) -> bool:
    errand.claimed_at = None
    if errand.stopping:
        errand.state, errand.ended_at = ErrandState.CANCELLED, at
        errand.problem = f"{_CANCELLED_AND_DIED} {errand.when_broken_off}"
    elif LEASE.is_used_up(errand):
        errand.state, errand.ended_at = ErrandState.FAILED, at
        errand.problem = f"{_DIED_TWICE} {errand.when_broken_off} {_ENDS_AGAIN}"
    else:
        errand.state = ErrandState.WAITING
        do_errand.enqueue(errand.pk)
    errand.save()
    return errand.state == ErrandState.WAITING


@transaction.atomic
def forget_results() -> None:
    """For an erasure: files and sentences that were made before it go, and what is at work begins
    anew, so that it holds nothing that was read before.
    """
    lock_in_order(Errand.objects.only("pk"))
    ErrandPiece.objects.all().delete()
    Errand.objects.exclude(state__in=OPEN_ERRANDS).delete()
    at_work = Errand.objects.filter(state=ErrandState.WORKING)
    keys = list(at_work.values_list("pk", flat=True))
    at_work.update(state=ErrandState.WAITING, claimed_at=None, attempts=0, done=0)
    for pk in keys:
        do_errand.enqueue(pk)


def forget_old_errands(at: datetime | None = None) -> int:
    """Delete what ended long ago, with its file; how many that were."""
    before = (at or timezone.now()) - KEPT_FOR
    old = Errand.objects.exclude(state__in=OPEN_ERRANDS).filter(ended_at__lt=before)
    keys = list(old.values_list("pk", flat=True))
    for pk in keys:
        # One by one: the file of one is large enough for a transaction.
        Errand.objects.filter(pk=pk).delete()
    return len(keys)
