"""What is to be bought of counted stock: the forecast of every item, the most pressing first. The
one answer for the shopping list, today's work and the marks of the stock list.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from decimal import Decimal
from math import floor
from statistics import median

from rentals.counts import counted
from rentals.models import ContentsLine, CourseRun, ElectrodeBatch, Practice, StockItem
from rentals.next_acts import RESTOCK
from rentals.planning.calendar import Turnaround, free_again
from rentals.planning.reordering import LeadTime, RunUse, use_rate
from rentals.planning.stock_forecast import (
    PLAN_AHEAD_DAYS,
    ComingBack,
    OrderTerms,
    PlannedNeed,
    StockForecast,
    forecast,
)
from rentals.planning.stock_need import Lot
from rentals.planning.stock_words import urgency, why
from rentals.planning.workdays import Workdays
from rentals.selectors.next_steps import Button, button
from rentals.selectors.plan_days import turnaround_of
from rentals.selectors.stock_ahead import ParcelsAhead, lots_of, needs_of, parcels_ahead
from rentals.selectors.stock_history import ItemHistory, pieces_out, stock_history

ORDERED = "order"
"""Value of the list's filter for what is to be ordered."""


@dataclass(frozen=True)
class ShoppingRow:
    """One item with its forecast and the sentence that says why; `due` where it is to be ordered
    today, and `urgency` what is said beside the day to order by.
    """

    item: StockItem
    forecast: StockForecast
    why: str
    due: bool
    next: Button
    urgency: str = ""

    @property
    def needed_by(self) -> date | None:
        """By when pieces are needed: for the first run that they do not reach for, else for the
        first of all.
        """
        short = self.forecast.short
        return short.by if short else self.forecast.needed_by

    @property
    def how_much(self) -> str:
        """What to order, as ``3 packs of 100``; empty where nothing is."""
        if not self.ordered:
            return ""
        size, packs = self.item.pack_size, self.forecast.packs
        if size == 1:
            return f"{packs} {self.item.unit}"
        return f"{counted(packs, 'pack', 'packs')} of {size}"

    @property
    def ordered(self) -> bool:
        """Whether it is to be ordered at all."""
        return self.forecast.order_by is not None


@dataclass(frozen=True)
class _Plan:
    """The runs with parcels to pack, their lines, and when their pieces may go out again."""

    runs: Mapping[int, CourseRun]
    lines: Sequence[ContentsLine]
    turnaround: Turnaround
    workdays: Workdays
    today: date
    back_days: dict[date, date] = field(default_factory=dict)

    def back_from(self, due_on: date) -> date:
        """The day from which pieces that are due on another may go out again."""
        if due_on not in self.back_days:
            day = free_again(due_on, self.turnaround, self.workdays).day
            self.back_days[due_on] = day
        return self.back_days[due_on]


@dataclass
class _Needs:
    """What planned runs need of one item, in order of posting; the most pieces that one parcel
    takes, and whether they come back.
    """

    rows: list[PlannedNeed] = field(default_factory=list)
    a_parcel: int = 1
    returns: bool = False


def parcels_planned(today: date) -> ParcelsAhead:
    """The parcels of all runs that the shopping list looks ahead to."""
    return parcels_ahead(today, today + timedelta(days=PLAN_AHEAD_DAYS))


def shopping_list(
    today: date, practice: Practice | None = None, ahead: ParcelsAhead | None = None
) -> list[ShoppingRow]:
    """Every item: what is to be ordered first, by the day it is to be ordered; then the rest by
    name. At most eight queries whatever there is; `practice` and `ahead`, the parcels planned, are
    read where they are not given.
    """
    items = list(StockItem.objects.order_by("name"))
    if not items:
        return []
    practice = practice or Practice.current()
    ahead = ahead or parcels_planned(today)
    runs = {run.pk: run for run in ahead.runs}
    workdays = Workdays(str(practice.country or ""))
    plan = _Plan(runs, ahead.lines, turnaround_of(practice), workdays, today)
    needs, history, keeps = _needs(plan), stock_history(today), _keeps()
    lots = _lots(items, plan, history)
    service = practice.stock_service / 100
    rows = []
    for item in items:
        terms = _terms(item, service, keeps.get(item.pk))
        own = history.get(item.pk, ItemHistory())
        rows.append(_row(item, terms, needs.get(item.pk, _Needs()), own, lots[item.pk], plan))
    return sorted(rows, key=lambda row: (row.forecast.order_by or date.max, row.item.name))


def shopping_listed(rows: Iterable[ShoppingRow], q: str, show: str) -> list[ShoppingRow]:
    """The rows that fit a filter: words of name or supplier, and whether to be ordered."""
    words = q.casefold()
    return [
        row
        for row in rows
        if (row.ordered or show != ORDERED)
        and words in f"{row.item.name} {row.item.supplier}".casefold()
    ]


def total_cost(rows: Iterable[ShoppingRow]) -> Decimal:
    """What all of it costs, as far as prices are set."""
    return sum((row.forecast.cost or Decimal(0) for row in rows), Decimal(0))


def items_to_order(
    today: date, practice: Practice | None = None, ahead: ParcelsAhead | None = None
) -> list[ShoppingRow]:
    """The items that are to be ordered today."""
    return [row for row in shopping_list(today, practice, ahead) if row.due]


def _row(
    item: StockItem,
    terms: OrderTerms,
    needs: _Needs,
    history: ItemHistory,
    lots: Sequence[Lot],
    plan: _Plan,
) -> ShoppingRow:
    past, planned = history.past_runs(plan.runs), _planned_use(needs, history)
    rate = use_rate(past, planned, needs.a_parcel)
    rows = [_with_return(row, needs.returns, history, plan) for row in needs.rows]
    answer = forecast(rows, lots, rate, terms, plan.today)
    names = {pk: run.name for pk, run in plan.runs.items()}
    return ShoppingRow(
        item,
        answer,
        why(answer, terms, names, plan.today),
        answer.is_due(plan.today),
        button(RESTOCK, item=item),
        urgency(answer.order_by, plan.today),
    )


def _planned_use(needs: _Needs, history: ItemHistory) -> list[RunUse]:
    """What each planned run takes in all: what it has taken already, and what it will."""
    pieces: dict[int, int] = defaultdict(int)
    posted_on: dict[int, date] = {}
    for row in needs.rows:
        pieces[row.need.run] += row.need.pieces
        posted_on[row.need.run] = row.by
    return [
        history.use_of(run, posted_on[run], count, returns=needs.returns)
        for run, count in pieces.items()
    ]


def _needs(plan: _Plan) -> dict[int, _Needs]:
    """What the runs need of each item, by its key."""
    found: dict[int, _Needs] = defaultdict(_Needs)
    for run in plan.runs.values():
        for need in needs_of(run, plan.lines, plan.today):
            found[need.item].rows.append(PlannedNeed(need, max(run.post_by, plan.today)))
    by_type: dict[tuple[int, int], int] = defaultdict(int)
    for line in plan.lines:
        if line.stock_item_id is not None:
            needs = found[line.stock_item_id]
            needs.returns |= line.comes_back
            by_type[line.stock_item_id, line.kit_type_id] += line.quantity
            parcel = by_type[line.stock_item_id, line.kit_type_id]
            needs.a_parcel = max(needs.a_parcel, parcel)
    return found


def _with_return(row: PlannedNeed, returns: bool, history: ItemHistory, plan: _Plan) -> PlannedNeed:
    if not returns:
        return row
    day = plan.back_from(plan.runs[row.need.run].return_by)
    return replace(row, back=ComingBack(day, 1 - history.loss))


def _lots(
    items: Iterable[StockItem], plan: _Plan, history: Mapping[int, ItemHistory]
) -> dict[int, list[Lot]]:
    """What is at hand, and what is out and expected back, less what gets lost."""
    lots = lots_of(items)
    for item, due_on, lot in pieces_out(plan.today):
        share = 1 - history.get(item, ItemHistory()).loss
        day = plan.back_from(due_on)
        lots[item].append(replace(lot, pieces=floor(lot.pieces * share), here_from=day))
    return lots


def _keeps() -> dict[int, int]:
    """The days that batches of each item last when they come in: the middle one of them."""
    days: dict[int, list[int]] = defaultdict(list)
    dated = ElectrodeBatch.objects.filter(expires_on__isnull=False, received_on__isnull=False)
    rows = dated.order_by("-pk").values_list("item", "received_on", "expires_on")
    for item, received_on, expires_on in rows[:1000]:
        if received_on and expires_on:
            days[item].append((expires_on - received_on).days)
    return {item: round(median(values)) for item, values in days.items()}


def _terms(item: StockItem, service: float, keeps: int | None) -> OrderTerms:
    return OrderTerms(
        lead=LeadTime(item.lead_days, item.lead_spread_days),
        service=service,
        floor=item.reorder_point,
        pack_size=item.pack_size,
        pack_price=item.pack_price,
        order_cost=item.order_cost,
        keeps=keeps,
    )
