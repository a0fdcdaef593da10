"""Counted stock against what parcels need of it: who is served from which pieces, and who lacks."""

from __future__ import annotations

from bisect import insort
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta

from rentals.errors import Refused

STOCK_AHEAD_DAYS = 28
"""Days before posting from which stock that will not suffice is work of the day: time for an order
to come in.
"""


@dataclass(frozen=True)
class Lot:
    """Pieces of one item that expire together; `expires_on` is None for pieces that never do.
    `here_from` is the day on which pieces that are still under way will be here.
    """

    pieces: int
    expires_on: date | None = None
    here_from: date | None = None

    def serves(self, until: date, on: date | None = None) -> bool:
        """Whether its pieces are usable until a day, and here on another."""
        is_here = self.here_from is None or (on is not None and self.here_from <= on)
        return is_here and lasts(self.expires_on, until)


@dataclass(frozen=True)
class StockNeed:
    """What the parcels of one run need of an item; every piece must be usable on the day
    `until`.
    """

    run: int
    item: int
    pieces: int
    until: date


@dataclass(frozen=True)
class StockLack:
    """A need that is not served in full: `have` pieces are there for it, `too_old` more do not
    last until its day, and `taken` more would but go out with earlier parcels.
    """

    need: StockNeed
    have: int
    too_old: int = 0
    taken: int = 0


def usable_until(due_on: date, days_beyond: int, out_on: date, *, short_dated: bool) -> date:
    """The last day on which the pieces of a parcel must be usable: the day the kit is due back and
    some days beyond it.

    Parameters
    ----------
    due_on, days_beyond
        The day due back, and the days that a batch must last beyond it.
    out_on : date
        The day on which the parcel goes out: nothing that is expired then goes out.
    short_dated : bool
        The owner lets pieces go out that expire during the loan.
    """
    return out_on if short_dated else max(out_on, due_on + timedelta(days=days_beyond))


def lasts(expires_on: date | None, until: date) -> bool:
    """Whether pieces are still usable on a day: the day of their expiry is the last one."""
    return expires_on is None or expires_on >= until


def check_expiry(expires_on: date | None, today: date, *, expired_already: bool) -> None:
    """Raise Refused for a batch that is to be on file with a past expiry, unless somebody confirms
    that it has expired already.
    """
    if not lasts(expires_on, today) and not expired_already:
        raise Refused(
            "This day is past. Check the expiry on the pouch; if it is right, tick that the batch"
            " has expired. It will not go out.",
            field="expired_already",
        )


def needed_and_here(needed: int, have: int, taken: int = 0) -> str:
    """The two numbers as every page and paper says them: ``12 needed, 0 here``; where earlier
    parcels take pieces that lie here, ``12 needed, 0 left after earlier parcels``.
    """
    rest = "left after earlier parcels" if taken else "here"
    return f"{needed} needed, {have} {rest}"


def lacking_stock(needs: Iterable[StockNeed], lots: Mapping[int, Iterable[Lot]]) -> list[StockLack]:
    """The needs that the lots do not cover, in their order.

    Parameters
    ----------
    needs : iterable of StockNeed
        In the order in which they are served: the first to be posted first.
    lots : mapping
        The pieces at hand of each item.
    """
    at_hand = {item: tuple(rows) for item, rows in lots.items()}
    shelves = {item: Shelf(rows) for item, rows in at_hand.items()}
    lacks = []
    for need in needs:
        shelf = shelves.setdefault(need.item, Shelf(()))
        have = pieces_of(shelf.take(need.pieces, need.until))
        if have < need.pieces:
            taken = Shelf(at_hand.get(need.item, ())).left(need.until) - have
            lacks.append(StockLack(need, have, shelf.too_old(need.until), taken))
    return lacks


class Shelf:
    """Pieces of one item, taken first to expire first among those that last long enough."""

    def __init__(self, lots: Iterable[Lot]) -> None:
        self._lots: list[Lot] = []
        for lot in lots:
            self.add(lot)

    def add(self, lot: Lot) -> None:
        """Put further pieces in their place."""
        insort(self._lots, lot, key=_expiry)

    def take(self, pieces: int, until: date, on: date | None = None) -> list[Lot]:
        """Take up to so many pieces that are usable until a day, and here on another; returns the
        lots that they come from.
        """
        lacking, taken = pieces, []
        for place, lot in enumerate(self._lots):
            if lacking and lot.pieces and lot.serves(until, on):
                from_lot = replace(lot, pieces=min(lot.pieces, lacking))
                self._lots[place] = replace(lot, pieces=lot.pieces - from_lot.pieces)
                lacking -= from_lot.pieces
                taken.append(from_lot)
        return taken

    def left(self, until: date, on: date | None = None) -> int:
        """How many pieces are left that are usable until a day, and here on another."""
        return pieces_of(lot for lot in self._lots if lot.serves(until, on))

    def too_old(self, until: date) -> int:
        """How many pieces are left that do not last until a day."""
        return pieces_of(lot for lot in self._lots if not lasts(lot.expires_on, until))


def pieces_of(lots: Iterable[Lot]) -> int:
    """The pieces of all lots together."""
    return sum(lot.pieces for lot in lots)


def _expiry(lot: Lot) -> date:
    return lot.expires_on or date.max
