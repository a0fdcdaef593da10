"""What an act that ends something loses, by name and in money: for the page that asks first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from rentals.counts import counted, pieces
from rentals.models import Kit, Loan, Practice
from rentals.planning.money import money_text
from rentals.planning.settlement import Claim, Settlement, replacement_cost, settlement


@dataclass(frozen=True)
class Owed:
    """What should have come back: each line with its worth, and the worth of all."""

    lines: tuple[str, ...]
    total: str


def owed_of(loan: Loan) -> Owed:
    """What becomes a shortfall if the kit of a loan never comes back."""
    currency = Practice.current().currency
    lines, total = [], Decimal(0)
    for line in loan.packing_lines.filter(comes_back=True):
        worth = replacement_cost(line.replacement_price, line.quantity)
        total += worth
        lines.append(f"{pieces(line.quantity, line.name)}: {money_text(worth, currency)}")
    return Owed(tuple(lines), money_text(total, currency))


def parts_of(kit: Kit) -> tuple[str, ...]:
    """The parts fitted in a kit, by name."""
    parts = kit.parts.order_by("code")
    return tuple(f"{part.get_kind_display()} {part.code}, serial {part.serial}" for part in parts)


def ticks_of(loan: Loan) -> str:
    """What has been laid into the parcel of a loan, in words; empty for nothing."""
    ticked = loan.packing_lines.filter(ticked_at__isnull=False).count()
    return counted(ticked, "ticked line", "ticked lines") if ticked else ""


def sums_of(loan: Loan) -> Settlement:
    """The money of a loan as it stands now."""
    claims = [Claim(short.amount, short.state) for short in loan.shortfalls.all()]
    return settlement(loan.deposit, claims, Practice.current().currency)


def sums_in_words(loan: Loan) -> Sequence[str]:
    """Deposit, charges and what goes back or is still to pay, one sentence each."""
    currency, sums = Practice.current().currency, sums_of(loan)
    sentences = [
        f"Deposit paid: {money_text(sums.deposit, currency)}.",
        f"Charged: {money_text(sums.charged, currency)}.",
    ]
    if sums.undecided:
        sentences.append(f"Not decided yet: {money_text(sums.undecided, currency)}.")
    if sums.to_pay:
        return [*sentences, f"Still to pay: {money_text(sums.to_pay, currency)}."]
    return [*sentences, f"To be paid back: {money_text(sums.refund, currency)}."]
