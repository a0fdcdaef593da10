"""Stock against the parcels to come: what each run still needs, and what will not suffice for it.

A run needs what its kit type lists, once for each student whose parcel is not closed. Runs are
served in the order in which they are posted.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count, Q, QuerySet

from rentals.counts import counted
from rentals.dates import short_date
from rentals.models import ContentsLine, CourseRun, ElectrodeBatch, LoanStage, StockItem
from rentals.next_acts import RESTOCK
from rentals.planning.stock_need import (
    STOCK_AHEAD_DAYS,
    Lot,
    StockLack,
    StockNeed,
    lacking_stock,
    needed_and_here,
    usable_until,
)
from rentals.selectors.next_steps import Button, button
from rentals.selectors.unserved import unserved


@dataclass(frozen=True)
class RunShort:
    """An item that will not suffice for the parcels of a run, and where that is mended; `taken`
    pieces more lie here and go out with earlier parcels.
    """

    run: CourseRun
    item: StockItem
    needed: int
    have: int
    hint: str
    next: Button
    taken: int = 0

    @property
    def words(self) -> str:
        """The two numbers, as ``12 needed, 0 here`` or ``12 needed, 0 left after earlier
        parcels``.
        """
        return needed_and_here(self.needed, self.have, self.taken)


@dataclass(frozen=True)
class ParcelsAhead:
    """Runs with parcels to pack, the first to be posted first, and what their kit types take from
    counted stock.
    """

    runs: Sequence[CourseRun]
    lines: Sequence[ContentsLine]


def parcels_ahead(today: date, posted_until: date) -> ParcelsAhead:
    """The parcels to pack of runs that are posted until a day; two queries."""
    runs = list(runs_to_pack(today, posted_until))
    return ParcelsAhead(runs, counted_lines(runs))


def stock_short_soon(today: date, ahead: ParcelsAhead | None = None) -> list[RunShort]:
    """What will not suffice for runs to be posted while an order can still come in. `ahead` are
    the parcels of at least these runs where they are known already.
    """
    until = today + timedelta(days=STOCK_AHEAD_DAYS)
    ahead = ahead or parcels_ahead(today, until)
    runs = [run for run in ahead.runs if run.post_by <= until]
    return _short_for(ParcelsAhead(runs, ahead.lines), today)


def stock_short_for(run: CourseRun, today: date) -> list[RunShort]:
    """What will not suffice for a run once those that are posted before it have taken theirs."""
    short = _short_for(parcels_ahead(today, run.post_by), today)
    return [row for row in short if row.run == run]


def runs_to_pack(today: date, posted_until: date) -> QuerySet[CourseRun]:
    """Runs that are not over and have parcels to pack, counted as `parcels`, the first to be posted
    first.
    """
    assigned = Q(enrolments__loans__stage=LoanStage.ASSIGNED)
    runs = CourseRun.objects.filter(ends_on__gte=today, post_by__lte=posted_until)
    allowed = assigned & ~Q(enrolments__loans__short_dated_reason="")
    runs = runs.annotate(
        parcels=Count("enrolments", filter=unserved("enrolments__") | assigned, distinct=True),
        short_dated=Count("enrolments", filter=allowed, distinct=True),
    )
    return runs.filter(parcels__gt=0).order_by("post_by", "pk")


def _short_for(ahead: ParcelsAhead, today: date) -> list[RunShort]:
    """What lacks, run by run; one query however many runs and items there are."""
    by_key = {run.pk: run for run in ahead.runs}
    items = {line.stock_item.pk: line.stock_item for line in ahead.lines if line.stock_item}
    needs = [need for run in ahead.runs for need in needs_of(run, ahead.lines, today)]
    found = []
    for lack in lacking_stock(needs, lots_of(items.values())):
        item = items[lack.need.item]
        restock = button(RESTOCK, item=item)
        run, hint = by_key[lack.need.run], _hint(lack)
        pieces = lack.need.pieces
        found.append(RunShort(run, item, pieces, lack.have, hint, restock, lack.taken))
    return found


def _hint(lack: StockLack) -> str:
    """Why more pieces that lie there do not count; empty where there are none."""
    if not lack.too_old:
        return ""
    expire = counted(lack.too_old, "more expires", "more expire")
    return f"{expire} before {short_date(lack.need.until)}"


def counted_lines(runs: Iterable[CourseRun]) -> list[ContentsLine]:
    """What the kit types of these runs take from counted stock, by the item's name."""
    types = {run.kit_type_id for run in runs}
    lines = ContentsLine.objects.filter(kit_type__in=types, stock_item__isnull=False)
    return list(lines.select_related("stock_item").order_by("stock_item__name", "pk"))


def needs_of(run: CourseRun, lines: Sequence[ContentsLine], today: date) -> list[StockNeed]:
    """What a run needs of each item, by the item's name."""
    a_parcel: dict[int, tuple[int, int]] = {}
    for line in lines:
        if line.kit_type_id == run.kit_type_id and line.stock_item_id is not None:
            pieces, days = a_parcel.get(line.stock_item_id, (0, 0))
            pieces, days = pieces + line.quantity, max(days, line.days_beyond_due)
            a_parcel[line.stock_item_id] = (pieces, days)
    return [
        StockNeed(run.pk, item, parcels * pieces, until)
        for item, (pieces, days) in a_parcel.items()
        for parcels, until in _parcels_of(run, days, today)
    ]


def _parcels_of(run: CourseRun, days_beyond: int, today: date) -> Iterator[tuple[int, date]]:
    """How many parcels a run has to pack, and until when their pieces must be usable; those of
    which the owner lets pieces expire during the loan stand apart.
    """
    parcels, short_dated = vars(run)["parcels"], vars(run)["short_dated"]
    out_on = max(run.post_by, today)
    for count, allowed in ((short_dated, True), (parcels - short_dated, False)):
        if count:
            yield count, usable_until(run.return_by, days_beyond, out_on, short_dated=allowed)


def lots_of(items: Iterable[StockItem]) -> dict[int, list[Lot]]:
    """The pieces at hand, by the item's key; at most one query."""
    lots = {item.pk: [] if item.by_batch else [Lot(item.on_hand)] for item in items}
    by_batch = [item.pk for item in items if item.by_batch]
    for batch in ElectrodeBatch.objects.filter(item__in=by_batch, on_hand__gt=0):
        lots[batch.item_id].append(Lot(batch.on_hand, batch.expires_on))
    return lots
