"""Why an item stands on the shopping list, or need not be bought: one sentence. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from rentals.counts import counted
from rentals.dates import short_date

from .stock_forecast import OrderCause, OrderTerms, PlannedNeed, StockForecast


def why(answer: StockForecast, terms: OrderTerms, runs: Mapping[int, str], today: date) -> str:
    """The sentence; `runs` are the names of the runs by their keys."""
    reason = _reason(answer, terms, runs)
    days = terms.lead.at_latest_days(terms.service)
    if answer.short is not None and (answer.short.by - today).days <= days:
        reason += f"; an order takes up to {counted(days, 'day', 'days')}"
        if (answer.short.by - today).days < days:
            reason += f" and {_too_late(answer, answer.short, runs)}"
    return f"{reason}."


def urgency(order_by: date | None, today: date) -> str:
    """What is said beside the day to order by: that it is past or today; empty for later days and
    where nothing is to be ordered.
    """
    if order_by is None or order_by > today:
        return ""
    return "overdue" if order_by < today else "today"


def _too_late(answer: StockForecast, short: PlannedNeed, runs: Mapping[int, str]) -> str:
    """What may come of an order that is placed today, after its day."""
    run = runs.get(short.need.run, "the run")
    if answer.cause == OrderCause.LACKS:
        return f"may come too late for {run}"
    return f"may come only after {run} is posted"


def _reason(answer: StockForecast, terms: OrderTerms, runs: Mapping[int, str]) -> str:
    match answer.cause, answer.short:
        case OrderCause.LACKS, PlannedNeed() as short:
            need = short.need
            here = need.pieces + answer.left
            run = runs.get(need.run, "A run")
            lacking = f"{run} needs {need.pieces} by {short_date(short.by)} and {here} will be here"
            return lacking + _too_old(answer, short)
        case OrderCause.RESERVE, PlannedNeed() as short:
            run = runs.get(short.need.run, "A run")
            left = f"{run} leaves {answer.left}, fewer than the {answer.reserve} to be in reserve"
            return left + _too_old(answer, short)
        case OrderCause.FLOOR, _:
            pieces = counted(answer.here, "is", "are")
            return f"{pieces} here, at or below your own reorder point of {terms.floor}"
        case OrderCause.UNPLANNED, _:
            pieces = counted(answer.here, "is", "are")
            return (
                f"No run is planned, but {pieces} too few for the runs there usually are:"
                f" order at {answer.reorder_at}"
            )
        case OrderCause.ENOUGH, _:
            return "Enough for all runs of the next half year, with the reserve left"
    return "No run of the next half year needs it"


def _too_old(answer: StockForecast, short: PlannedNeed) -> str:
    if not answer.too_old:
        return ""
    expire = counted(answer.too_old, "more expires", "more expire")
    return f"; {expire} before {short_date(short.need.until)}"
