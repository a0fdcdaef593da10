"""Claiming background work: the same rules for captures that are scored and mails that are sent.

A claim is a conditional update, committed before the work begins: of many workers that try, one
hits. The claimed row bears the claim's time as its mark, and an outcome is written only while the
row bears it still. A claim that is older than its lease belongs to a worker that died: it has
expired, and whoever ends it does so by a conditional update as well, so that it is done once.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import F, Q, QuerySet

from rentals import transaction
from rentals.models.leases import Leased


@dataclass(frozen=True)
class Lease:
    """How rows of one kind are held by a worker.

    Parameters
    ----------
    rows : type of Leased
        The model.
    state_field, held : str
        The column of its state, and the state of a row that a worker is busy with.
    duration : timedelta
        How long a claim holds: longer than a living worker can be busy with one row.
    tries : int
        Claims in all before a row is given up.
    first_wait : timedelta
        How long a row waits before its second try; every further wait is twice as long.
    """

    rows: type[Leased]
    state_field: str
    held: str
    duration: timedelta
    tries: int
    first_wait: timedelta = timedelta(0)

    def claim(self, free: QuerySet, now: datetime) -> bool:
        """Claim the rows of `free`; False where other workers were faster with all of them."""
        state = {self.state_field: self.held}
        with transaction.atomic():
            claimed = free.update(**state, claimed_at=now, attempts=F("attempts") + 1)
        return bool(claimed)

    def under_claim_of(self, row: Leased, *, or_in: Iterable[str] = ()) -> QuerySet:
        """The row, as long as it bears the claim that `row` was read with.

        Empty once the claim was taken over or ended. `or_in`: further states in which the worker
        that made the claim may still write.
        """
        states = {f"{self.state_field}__in": [self.held, *or_in]}
        return self.rows._default_manager.filter(pk=row.pk, claimed_at=row.claimed_at, **states)

    def under_claims_of(self, rows: QuerySet, at: datetime) -> QuerySet:
        """Those of the rows that bear the claim made at that moment."""
        return rows.filter(claimed_at=at, **{self.state_field: self.held})

    def expired(self, now: datetime) -> QuerySet:
        """Rows whose worker died: held for longer than the lease. So is a claim of a time that is
        further ahead than that: the clock was set back since.
        """
        state = {self.state_field: self.held}
        too_old = Q(claimed_at__lt=now - self.duration)
        of_another_clock = Q(claimed_at__gt=now + self.duration)
        return self.rows._default_manager.filter(too_old | of_another_clock, **state)

    def postpone(self, row: Leased, until: datetime) -> None:
        """Let the claim of `row` expire at that moment, and not count as a try."""
        claimed = self.under_claim_of(row)
        claimed.update(claimed_at=until - self.duration, attempts=F("attempts") - 1)

    def is_used_up(self, row: Leased) -> bool:
        """Whether the row was claimed as often as it may be."""
        return row.attempts >= self.tries

    def wait_after(self, row: Leased) -> timedelta:
        """How long a row waits after the try it was claimed for."""
        return self.first_wait * 2 ** (row.attempts - 1)
