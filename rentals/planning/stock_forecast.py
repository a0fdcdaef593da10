"""The shopping list: for one counted item, whether what is here reaches for the runs planned, by
which day to order, and how many packs. Pure.

The parcels of each run are served from the shelf in order of posting; what comes back is here again
some days after it is due, less what experience says gets lost. Pieces that do not last a loan do
not serve it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum
from math import ceil, floor

from .reordering import (
    HOLDING_SHARE,
    LeadTime,
    UseRate,
    economic_quantity,
    reorder_point,
    reserve_for,
)
from .stock_need import Lot, Shelf, StockNeed, pieces_of

PLAN_AHEAD_DAYS = 182
"""Runs posted within half a year count: what is bought for later ones would age on the shelf."""
_YEAR = 365


class OrderCause(StrEnum):
    """Why an item is ordered, or need not be."""

    LACKS = "lacks"
    RESERVE = "reserve"
    FLOOR = "floor"
    UNPLANNED = "unplanned"
    ENOUGH = "enough"
    NOT_USED = "not used"


@dataclass(frozen=True)
class OrderTerms:
    """How an item is bought. `floor` is the owner's own reorder point; prices are of a pack and of
    an order, None where they are not set; `keeps` are the days that a fresh batch lasts, None where
    it does not expire.
    """

    lead: LeadTime
    service: float = 0.95
    floor: int = 0
    pack_size: int = 1
    pack_price: Decimal | None = None
    order_cost: Decimal | None = None
    keeps: int | None = None


@dataclass(frozen=True)
class ComingBack:
    """What becomes of pieces that go out: the day from which the share that is not lost is here
    again.
    """

    here_from: date
    share: float


@dataclass(frozen=True)
class PlannedNeed:
    """What a planned run needs; `back` is None for what is used up."""

    need: StockNeed
    by: date
    back: ComingBack | None = None


@dataclass(frozen=True)
class StockForecast:
    """The answer for one item.

    `here` pieces may go out today; `needed` is what the planned runs take, the first of them by
    `needed_by`. `short` is the first need that is not served with the reserve left, `left` what it
    leaves and `too_old` what lies there and does not last its loan. `order_by` is None where
    nothing is to be ordered, and may lie in the past.
    """

    cause: OrderCause
    here: int
    needed: int
    needed_by: date | None
    reserve: int
    reorder_at: int
    short: PlannedNeed | None = None
    left: int = 0
    too_old: int = 0
    order_by: date | None = None
    pieces: int = 0
    packs: int = 0
    cost: Decimal | None = None

    def is_due(self, today: date) -> bool:
        """Whether it is to be ordered today or should have been before."""
        return self.order_by is not None and self.order_by <= today


@dataclass(frozen=True)
class _Walk:
    """What serving all needs came to: the first that fell short, what it left, all that lacked."""

    short: PlannedNeed | None
    left: int
    too_old: int

    @property
    def reaches(self) -> bool:
        return self.short is None


def forecast(
    needs: Sequence[PlannedNeed],
    lots: Sequence[Lot],
    use: UseRate,
    terms: OrderTerms,
    today: date,
) -> StockForecast:
    """What is to be ordered of one item.

    Parameters
    ----------
    needs : sequence of PlannedNeed
        Of the item, the first to be posted first.
    lots : sequence of Lot
        The pieces at hand, and those that are expected back.
    use, terms
        Its use a day, and how it is bought.
    """
    here = Shelf(lots).left(today)
    reserve = ceil(reserve_for(use, terms.lead, terms.service) - 1e-9)
    at = ceil(reorder_point(use, terms.lead, terms.service) - 1e-9)
    walk = _serve(needs, lots, reserve, today)
    answer = StockForecast(
        OrderCause.ENOUGH if needs or use.mean else OrderCause.NOT_USED,
        here,
        sum(row.need.pieces for row in needs),
        needs[0].by if needs else None,
        reserve,
        max(at, terms.floor),
        walk.short,
        walk.left,
        walk.too_old,
    )
    cause, order_by = _cause(answer, walk, bool(needs), terms, today)
    if order_by is None:
        return answer
    answer = replace(answer, cause=cause, order_by=order_by)
    ordered_on = max(order_by, today)
    missing = _missing(needs, lots, reserve, terms, ordered_on) if answer.short else 0
    return _bought(answer, _pieces(answer, missing, use, terms), terms)


def _cause(
    answer: StockForecast, walk: _Walk, is_planned: bool, terms: OrderTerms, today: date
) -> tuple[OrderCause, date | None]:
    """Why to order and by which day; the owner's own floor counts today."""
    if answer.short is not None:
        days = terms.lead.at_latest_days(terms.service)
        order_by = answer.short.by - timedelta(days=days)
        at_floor = answer.here <= terms.floor
        cause = OrderCause.LACKS if walk.left < 0 else OrderCause.RESERVE
        return cause, min(order_by, today) if at_floor else order_by
    if answer.here <= terms.floor:
        return OrderCause.FLOOR, today
    if not is_planned and answer.here <= answer.reorder_at and answer.cause != OrderCause.NOT_USED:
        return OrderCause.UNPLANNED, today
    return answer.cause, None


def _pieces(answer: StockForecast, missing: int, use: UseRate, terms: OrderTerms) -> int:
    """How many to order: what the plan lacks and the floor asks for, or the economic quantity where
    that is more.
    """
    wanted = [missing, _economic(use, terms), 1]
    if answer.here <= terms.floor:
        wanted += [terms.floor + 1 - answer.here, ceil(use.a_run)]
    if answer.cause == OrderCause.UNPLANNED:
        wanted += [answer.reorder_at + 1 - answer.here, ceil(use.a_run)]
    return max(wanted)


def _economic(use: UseRate, terms: OrderTerms) -> int:
    """The economic quantity, but no more than is used before it spoils; 0 where a price is not
    set.
    """
    if not terms.pack_price or not terms.order_cost or not use.mean:
        return 0
    keeping = float(terms.pack_price) / terms.pack_size * HOLDING_SHARE
    quantity = economic_quantity(use.mean * _YEAR, float(terms.order_cost), keeping)
    most = quantity if terms.keeps is None else use.mean * terms.keeps
    return floor(min(quantity, most))


def _missing(
    needs: Sequence[PlannedNeed],
    lots: Sequence[Lot],
    reserve: int,
    terms: OrderTerms,
    ordered_on: date,
) -> int:
    """The fewest further pieces with which every need is served and the reserve is left; needs that
    a batch bought then would not last for are left to a later order.
    """
    if terms.keeps is not None:
        last = ordered_on + timedelta(days=terms.keeps + ceil(terms.lead.days))
        needs = [row for row in needs if row.need.until <= last]
    low, high = 0, sum(row.need.pieces for row in needs) + reserve
    while low < high:
        middle = (low + high) // 2
        if _serve(needs, [*lots, Lot(middle)], reserve, ordered_on).reaches:
            high = middle
        else:
            low = middle + 1
    return low


def _serve(needs: Sequence[PlannedNeed], lots: Sequence[Lot], reserve: int, today: date) -> _Walk:
    """Serve the needs in their order, up to the first that lacks pieces or leaves less than the
    reserve; `left` is below zero by what lacks.
    """
    shelf = Shelf(lots)
    for row in needs:
        need = row.need
        taken = shelf.take(need.pieces, need.until, row.by)
        lacking = need.pieces - pieces_of(taken)
        left = shelf.left(need.until, row.by) - lacking
        if left < reserve:
            usable_now = shelf.left(today, row.by)
            return _Walk(row, left, usable_now - shelf.left(need.until, row.by))
        if row.back is not None:
            _put_back(shelf, taken, row.back)
    return _Walk(None, 0, 0)


def _put_back(shelf: Shelf, taken: Sequence[Lot], back: ComingBack) -> None:
    for lot in taken:
        pieces = floor(lot.pieces * back.share)
        shelf.add(replace(lot, pieces=pieces, here_from=back.here_from))


def _bought(answer: StockForecast, pieces: int, terms: OrderTerms) -> StockForecast:
    """The answer with its quantity, in whole packs, and what they cost."""
    packs = ceil(pieces / terms.pack_size)
    cost = None if terms.pack_price is None else packs * terms.pack_price
    return replace(answer, pieces=packs * terms.pack_size, packs=packs, cost=cost)
