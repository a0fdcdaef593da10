"""Stock that does not reach for one parcel."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from rentals.counts import counted
from rentals.dates import short_date
from rentals.models import ElectrodeBatch, PackingLine, StockItem
from rentals.next_acts import RESTOCK
from rentals.planning.stock_need import lasts, needed_and_here, usable_until
from rentals.selectors.next_steps import Button, button


@dataclass(frozen=True)
class Short:
    """An item of which there are too few pieces for a parcel, and where that is mended.

    `have` pieces last until the day `until`, `too_soon` more expire before it, and `expired` more
    are expired now.
    """

    item: StockItem
    needed: int
    have: int
    too_soon: int
    expired: int
    until: date
    next: Button

    @property
    def words(self) -> str:
        """The two numbers, as ``12 needed, 0 here``."""
        return needed_and_here(self.needed, self.have)

    @property
    def hint(self) -> str:
        """Why more pieces that lie there do not count; empty where there are none."""
        return "; ".join(self._hints())

    @property
    def reaches_short_dated(self) -> bool:
        """Whether there are enough pieces once those that expire during the loan may go out."""
        return self.have + self.too_soon >= self.needed

    def _hints(self) -> Iterator[str]:
        if self.too_soon:
            expire = counted(self.too_soon, "more expires", "more expire")
            yield f"{expire} before {short_date(self.until)}"
        if self.expired:
            expired = counted(self.expired, "more is expired and does", "more are expired and do")
            yield f"{expired} not go out"


def until_of(line: PackingLine, today: date) -> date:
    """The last day on which the pieces of a line must be usable."""
    loan = line.loan
    return usable_until(
        loan.due_on, line.days_beyond_due, today, short_dated=bool(loan.short_dated_reason)
    )


def wanted_of(lines: Iterable[PackingLine], today: date) -> dict[int, tuple[int, date]]:
    """Pieces of each item that these lines of one parcel take, and until when all must be
    usable.
    """
    wanted: dict[int, tuple[int, date]] = {}
    for line in lines:
        if line.stock_item_id is not None:
            until = until_of(line, today)
            pieces, latest = wanted.get(line.stock_item_id, (0, until))
            wanted[line.stock_item_id] = (pieces + line.quantity, max(latest, until))
    return wanted


def short_of(lines: Iterable[PackingLine], today: date) -> dict[int, Short]:
    """What lacks for these lines of one parcel, by the key of the item; at most two queries."""
    wanted = wanted_of(lines, today)
    if not wanted:
        return {}
    batches: dict[int, list[ElectrodeBatch]] = {}
    for batch in ElectrodeBatch.objects.filter(item__in=wanted, on_hand__gt=0):
        batches.setdefault(batch.item_id, []).append(batch)
    found = {}
    for item in StockItem.objects.filter(pk__in=wanted):
        short = _short(item, batches.get(item.pk, []), *wanted[item.pk], today)
        if short.have < short.needed:
            found[item.pk] = short
    return found


def _short(
    item: StockItem, batches: Iterable[ElectrodeBatch], needed: int, until: date, today: date
) -> Short:
    have, too_soon, expired = (0 if item.by_batch else item.on_hand), 0, 0
    for batch in batches:
        if lasts(batch.expires_on, until):
            have += batch.on_hand
        elif lasts(batch.expires_on, today):
            too_soon += batch.on_hand
        else:
            expired += batch.on_hand
    return Short(item, needed, have, too_soon, expired, until, button(RESTOCK, item=item))
