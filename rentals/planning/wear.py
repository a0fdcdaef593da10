"""What a part was still worth: its replacement price less straight-line wear over its life.

Each month takes the same share of what the part loses over its whole life; after that it keeps its
residual worth. The owner has the last word: this only proposes.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from rentals.counts import counted

from .money import money_text, round_money

#: Percent that is proposed of a part that came back damaged from an earlier loan.
DAMAGED_BEFORE_PERCENT = 50


@dataclass(frozen=True)
class WearRule:
    """How a kind of part wears: over `life_months` evenly down to `residual_percent` of its price;
    without a life it keeps its whole price.
    """

    life_months: int | None = None
    residual_percent: int = 0


@dataclass(frozen=True)
class ChargeProposal:
    """An amount for all pieces, and in words how it came about."""

    amount: Decimal
    words: str


def whole_months(since: date, until: date) -> int:
    """Whole months between two days; none where the second comes before the first."""
    months = (until.year - since.year) * 12 + until.month - since.month
    return max(months - (until.day < since.day), 0)


def worth_left(price: Decimal, residual: Decimal, age_months: int, life_months: int) -> Decimal:
    """What is left of a price after some months of a life, down to its residual worth.

    Raises ValueError for a life of no month, an age below zero, or a residual worth that is below
    zero or above the price.
    """
    if life_months < 1 or age_months < 0:
        raise ValueError(f"A life of {life_months} months and an age of {age_months} cannot be.")
    if not 0 <= residual <= price:
        raise ValueError(f"A residual worth of {residual} does not fit a price of {price}.")
    worn = min(age_months, life_months)
    return price - (price - residual) * worn / life_months


def proposed_charge(
    price: Decimal,
    pieces: int,
    rule: WearRule,
    currency: str,
    *,
    age_months: int | None = None,
    damaged_before: bool = False,
) -> ChargeProposal:
    """What is proposed to be charged for some pieces of one price, and why."""
    each, why = _worth_of_one(price, rule, age_months, currency)
    if damaged_before:
        each = each * DAMAGED_BEFORE_PERCENT / 100
        why += f" It had been damaged before: {DAMAGED_BEFORE_PERCENT} % of that."
    amount = round_money(round_money(each, currency) * pieces, currency)
    if pieces > 1:
        why += f" {money_text(each, currency)} for each of {pieces} pieces."
    return ChargeProposal(amount, f"{why} Proposed: {money_text(amount, currency)}.")


def _worth_of_one(
    price: Decimal, rule: WearRule, age_months: int | None, currency: str
) -> tuple[Decimal, str]:
    new = f"Replacement price: {money_text(price, currency)} each."
    if rule.life_months is None:
        return price, f"{new} No life is set on the kit type, so nothing is taken off for wear."
    if age_months is None:
        return price, f"{new} Its age is not known, so nothing is taken off for wear."
    residual = price * rule.residual_percent / 100
    left = worth_left(price, residual, age_months, rule.life_months)
    age, life = counted(age_months, "month", "months"), counted(rule.life_months, "month", "months")
    floor = f" down to {rule.residual_percent} %" if rule.residual_percent else ""
    off = money_text(price - left, currency)
    return left, (
        f"{new} {age} old of a life of {life}{floor}: {off} off for wear, evenly by the month."
    )
