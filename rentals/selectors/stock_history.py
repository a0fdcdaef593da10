"""What earlier runs took of counted stock, what of it never came back, and what is still out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from django.db.models import F, Q, Sum

from rentals.models import LoanStage, PackingLine
from rentals.planning.reordering import RunUse
from rentals.planning.stock_need import Lot

HISTORY_DAYS = 730
"""Runs of the last two years count: use of longer ago says little of today's courses."""
USUAL_LOSS, LOSS_WEIGHT = 0.05, 10
"""The share of what should come back that is taken to be lost before anything is known, and how
many pieces that guess weighs.
"""
_ENDED = (LoanStage.RETURNED, LoanStage.SETTLED, LoanStage.LOST)
_OUT = (LoanStage.AWAY, LoanStage.CHECK)


@dataclass
class ItemHistory:
    """Of one item: pieces that each run sent, by the run's key, and how many of those that should
    have come back were checked and missed.
    """

    sent: dict[int, int] = field(default_factory=dict)
    used_up: dict[int, int] = field(default_factory=dict)
    posted_on: dict[int, date] = field(default_factory=dict)
    checked: int = 0
    missed: int = 0

    @property
    def loss(self) -> float:
        """The share of pieces that never comes back, of those that should."""
        return (self.missed + USUAL_LOSS * LOSS_WEIGHT) / (self.checked + LOSS_WEIGHT)

    def use_of(
        self, run: int, posted_on: date, further: int = 0, *, returns: bool = False
    ) -> RunUse:
        """What a run took, with pieces that it will still take; `returns` says whether these come
        back.
        """
        sent = self.sent.get(run, 0) + further
        used_up = self.used_up.get(run, 0) + (0 if returns else further)
        return RunUse(posted_on, sent, used_up + (sent - used_up) * self.loss)

    def past_runs(self, planned: Iterable[int]) -> list[RunUse]:
        """The use of each run that has no parcel left to pack."""
        still = set(planned)
        return [self.use_of(run, self.posted_on[run]) for run in self.sent if run not in still]


def stock_history(today: date) -> Mapping[int, ItemHistory]:
    """The history of every item that was ever sent, by its key; one query."""
    since = today - timedelta(days=HISTORY_DAYS)
    sent = PackingLine.objects.filter(
        stock_item__isnull=False,
        loan__dispatched_at__isnull=False,
        loan__enrolment__run__post_by__gte=since,
    )
    ended = Q(loan__stage__in=_ENDED, comes_back=True)
    rows = sent.values(
        "comes_back",
        item=F("stock_item"),
        run=F("loan__enrolment__run"),
        posted_on=F("loan__enrolment__run__post_by"),
    ).annotate(
        pieces=Sum("quantity"),
        checked=Sum("quantity", filter=ended),
        back=Sum("return_line__quantity_back", filter=ended),
    )
    found: dict[int, ItemHistory] = defaultdict(ItemHistory)
    for row in rows.order_by():
        _add(found[row["item"]], row)
    return found


def _add(history: ItemHistory, row: Mapping[str, Any]) -> None:
    run, pieces = row["run"], row["pieces"]
    history.posted_on[run] = row["posted_on"]
    history.sent[run] = history.sent.get(run, 0) + pieces
    if not row["comes_back"]:
        history.used_up[run] = history.used_up.get(run, 0) + pieces
    checked = row["checked"] or 0
    history.checked += checked
    history.missed += checked - (row["back"] or 0)


def pieces_out(today: date) -> Iterable[tuple[int, date, Lot]]:
    """Pieces that are out and should come back: the item's key, the day the loan is due and the
    pieces, which expire together. Those of an overdue loan are not counted on.
    """
    rows = (
        PackingLine.objects.filter(
            Q(loan__due_on__gte=today) | Q(loan__stage=LoanStage.CHECK),
            stock_item__isnull=False,
            comes_back=True,
            loan__stage__in=_OUT,
        )
        .values("expires_on", item=F("stock_item"), due_on=F("loan__due_on"))
        .annotate(pieces=Sum("quantity"))
        .order_by()
    )
    for row in rows:
        yield row["item"], max(row["due_on"], today), Lot(row["pieces"], row["expires_on"])
