"""A worker's hold on an errand: claimed, told how far it is, let go with an outcome.

Nothing here holds a lock while the work goes on: each call is one short transaction. A worker whose
claim was taken from it (its errand was begun anew by somebody else) learns of it at its next step,
and nothing that it made is kept.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import timedelta
from threading import Event
from typing import Any

from django.db import connection
from django.db.models import F, Value
from django.db.models.functions import Coalesce
from django.utils import timezone

from rentals import transaction
from rentals.models import Errand, ErrandPiece
from rentals.states import DONE_ERRANDS, ErrandState
from rentals.through_locks import left_out_if_locked

from .leases import Lease

#: The claim is renewed with each word of how far the work is.
LEASE = Lease(Errand, "state", ErrandState.WORKING, duration=timedelta(minutes=15), tries=2)
TOLD_EVERY_S = 1.0
PIECE_BYTES = 1 << 20
#: Set where this process is to end: what is at work is given back.
PROCESS_ENDS = Event()
#: Does one short task that waits; False where none does.
ShortWork = Callable[[], bool]
_short_work: ContextVar[ShortWork] = ContextVar("short work", default=lambda: False)


class ErrandStopped(Exception):
    """Raised by a step; the work lets go of what it has not finished. Nobody else catches it."""


class ErrandCancelled(ErrandStopped):
    """Somebody has cancelled it."""


class ErrandGivenBack(ErrandStopped):
    """This process ends: another one does it."""


class ErrandTaken(ErrandStopped):
    """The claim is another's by now."""


@contextmanager
def goes_first(short_work: ShortWork) -> Iterator[None]:
    """Between two steps of long work inside, the worker does the short tasks that wait: a single
    worker scores captures while it checks the log.
    """
    before = _short_work.set(short_work)
    try:
        yield
    finally:
        _short_work.reset(before)


def do_short_work() -> None:
    """Do the short tasks that wait, where nothing is locked. A transaction is somebody's act:
    nobody else's task is done inside of it.
    """
    while not connection.in_atomic_block and _short_work.get()():
        continue


def claim_errand(pk: int) -> Errand | None:
    """Take an errand that waits; what an earlier try had made of a file goes. None where nobody
    waits for it any more.
    """
    now = timezone.now()
    if not LEASE.claim(Errand.objects.filter(pk=pk, state=ErrandState.WAITING), now):
        return None
    with transaction.atomic():
        ErrandPiece.objects.filter(errand=pk).delete()
        began = Coalesce("began_at", Value(now))
        Errand.objects.filter(pk=pk).update(began_at=began, done=0, total=0, at_hand="")
    return Errand.objects.select_related("asked_by").get(pk=pk)


class ErrandProgress:
    """What the work says how far it is to, and where it learns that it is to stop."""

    def __init__(
        self,
        errand: Errand,
        *,
        every_s: float = TOLD_EVERY_S,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._errand, self._every_s, self._clock = errand, every_s, clock
        self._told_at = clock() - every_s

    def begin(self, total: int, at_hand: str) -> None:
        """So many steps of this are to be done. Raises ErrandStopped."""
        self._errand.done, self._errand.total, self._errand.at_hand = 0, total, at_hand
        self._tell()

    def step(self, steps: int = 1) -> None:
        """Some are done. Never called with a row locked or a query half read: short tasks are done
        here. Raises ErrandStopped.
        """
        self._errand.done += steps
        if self._clock() - self._told_at >= self._every_s:
            self._tell()

    def hold(self, **facts: Any) -> None:
        """Last in an act that is done for the errand: the act counts only while the claim holds and
        nobody has cancelled it. `facts` go into the errand's row with the act. Raises
        ErrandStopped.
        """
        claimed = LEASE.under_claim_of(self._errand)
        if not claimed.filter(stopping=False).update(stopping=False, **facts):
            raise ErrandCancelled if claimed.exists() else ErrandTaken

    def _tell(self) -> None:
        with left_out_if_locked():
            self._renew()
            # A transaction is somebody's act: nobody else's task is done inside of it.
            while not connection.in_atomic_block and _short_work.get()():
                self._renew()
        self._told_at = self._clock()

    def _renew(self) -> None:
        if PROCESS_ENDS.is_set():
            raise ErrandGivenBack
        _renew(self._errand)


def _renew(errand: Errand) -> None:
    now = timezone.now()
    said = {name: getattr(errand, name) for name in ("done", "total", "at_hand")}
    if not LEASE.under_claim_of(errand).update(claimed_at=now, **said):
        raise ErrandTaken
    errand.claimed_at = now
    if Errand.objects.filter(pk=errand.pk, stopping=True).exists():
        raise ErrandCancelled


def keep_file(errand: Errand, content: Iterable[bytes]) -> None:
    """Keep the file of an errand, a piece at a time. Raises ErrandTaken."""
    number = 0
    for part in content:
        for start in range(0, len(part), PIECE_BYTES):
            _keep_piece(errand, number, part[start : start + PIECE_BYTES])
            number += 1


@transaction.atomic
def _keep_piece(errand: Errand, number: int, content: bytes) -> None:
    if not list(LEASE.under_claim_of(errand).select_for_update().values_list("pk")):
        raise ErrandTaken
    ErrandPiece.objects.create(errand=errand, number=number, content=content)


@transaction.atomic
def let_go(errand: Errand, state: ErrandState, **facts: Any) -> bool:
    """Write down what became of a claimed errand; False where the claim is another's by now."""
    if state not in DONE_ERRANDS:
        ErrandPiece.objects.filter(errand__in=LEASE.under_claim_of(errand)).delete()
    ended = None if state is ErrandState.WAITING else timezone.now()
    said = {"done": errand.done, "total": errand.total, "ended_at": ended, **facts}
    return bool(LEASE.under_claim_of(errand).update(state=state, claimed_at=None, **said))


def give_back(errand: Errand) -> bool:
    """Have another process do it; this try does not count."""
    return let_go(errand, ErrandState.WAITING, attempts=F("attempts") - 1)
