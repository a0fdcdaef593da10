"""What earlier runs took of counted stock, what of it never came back, and what is still out."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from django.db.models import F, Q, Sum

from rentals.models import CourseRun, Loan, LoanStage, PackingLine
from rentals.planning.reordering import RunUse
from rentals.planning.stock_need import Lot
from rentals.selectors.kept_facts import KeptFacts, Touched

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


@dataclass(frozen=True)
class _Use:
    """Pieces of one item that a run sent, and of those that should have come back how many were
    checked and came.
    """

    item: int
    comes_back: bool
    pieces: int
    checked: int
    back: int


_kept: KeptFacts[list[_Use]] = KeptFacts()


def stock_history(today: date) -> Mapping[int, ItemHistory]:
    """The history of every item that was ever sent, by its key; two or three queries."""
    since = today - timedelta(days=HISTORY_DAYS)
    runs = dict(CourseRun.objects.filter(post_by__gte=since).values_list("pk", "post_by"))

    def find(some: Collection[int] | None) -> dict[int, list[_Use]]:
        none: dict[int, list[_Use]] = {run: [] for run in runs}
        return none | _use_of(runs) if some is None else _use_of(some)

    def anew(since: Touched, known: Collection[int]) -> set[int]:
        unknown = runs.keys() - set(known)
        if not since.loans:
            return unknown
        on_them = Loan.objects.filter(pk__in=since.loans).order_by()
        return unknown | set(on_them.values_list("enrolment__run", flat=True))

    found: dict[int, ItemHistory] = defaultdict(ItemHistory)
    for run, uses in _kept.read(today, find, anew).items():
        if run in runs:
            for use in uses:
                _add(found[use.item], run, runs[run], use)
    return found


def _use_of(runs: Collection[int]) -> dict[int, list[_Use]]:
    sent = PackingLine.objects.filter(
        stock_item__isnull=False,
        loan__dispatched_at__isnull=False,
        loan__enrolment__run__in=list(runs),
    )
    ended = Q(loan__stage__in=_ENDED, comes_back=True)
    rows = sent.values("comes_back", item=F("stock_item"), run=F("loan__enrolment__run")).annotate(
        pieces=Sum("quantity"),
        checked=Sum("quantity", filter=ended),
        back=Sum("return_line__quantity_back", filter=ended),
    )
    found: dict[int, list[_Use]] = defaultdict(list)
    for row in rows.order_by():
        checked, back = row["checked"] or 0, row["back"] or 0
        found[row["run"]].append(_Use(row["item"], row["comes_back"], row["pieces"], checked, back))
    return found


def _add(history: ItemHistory, run: int, posted_on: date, use: _Use) -> None:
    history.posted_on[run] = posted_on
    history.sent[run] = history.sent.get(run, 0) + use.pieces
    if not use.comes_back:
        history.used_up[run] = history.used_up.get(run, 0) + use.pieces
    history.checked += use.checked
    history.missed += use.checked - use.back


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
