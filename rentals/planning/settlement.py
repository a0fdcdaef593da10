"""The money of a loan at its end: deposit, what each shortfall costs and who bears it, what goes
back or is still to pay, and until when. The deposit rule stands here and nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from .money import round_money

#: States of a shortfall, as rows keep them: the student pays; the practice bears it; nobody has
#: decided yet.
CHARGED = "charged"
WAIVED = "waived"
UNDECIDED = ("open", "chased")


@dataclass(frozen=True)
class Claim:
    """The money of one shortfall: ``amount`` for all its pieces, and the shortfall's state."""

    amount: Decimal
    state: str

    @property
    def charged(self) -> bool:
        """Whether the student pays it."""
        return is_charged(self.state)

    @property
    def written_off(self) -> bool:
        """Whether the practice pays it."""
        return self.state == WAIVED

    @property
    def undecided(self) -> bool:
        """Whether it has still to be recovered, charged or waived."""
        return is_undecided(self.state)


@dataclass(frozen=True)
class Settlement:
    """The sums of a loan, in whole smallest units of its currency.

    One of ``refund`` and ``to_pay`` is zero. ``written_off`` is what the practice bears itself,
    ``undecided`` the worth of the shortfalls that nobody has decided on: no other sum counts them.
    """

    deposit: Decimal
    charged: Decimal
    refund: Decimal
    to_pay: Decimal
    undecided: Decimal
    written_off: Decimal

    @property
    def worth(self) -> Decimal:
        """What all that lacks or is damaged is worth, whoever bears it."""
        return self.charged + self.written_off + self.undecided


def is_charged(state: str) -> bool:
    """Whether the student pays for a shortfall in this state."""
    return state == CHARGED


def is_undecided(state: str) -> bool:
    """Whether a shortfall in this state is open: a loan cannot be settled over it."""
    return state in UNDECIDED


def replacement_cost(price: Decimal, pieces: int) -> Decimal:
    """What a shortfall is worth when it is opened: the replacement price of each piece that lacks.

    Raises ValueError for a price below zero or less than one piece.
    """
    if price < 0:
        raise ValueError(f"A replacement price cannot be below zero, as {price} is.")
    if pieces < 1:
        raise ValueError(f"A shortfall has at least one piece, not {pieces}.")
    return price * pieces


def settlement(deposit: Decimal, claims: Iterable[Claim], currency: str) -> Settlement:
    """Set a deposit off against what is charged.

    Each claim is rounded by the currency's rules and then summed, so that printed lines add up to
    the printed total. Raises ValueError for letters that are no currency.
    """
    claims = list(claims)
    paid = round_money(deposit, currency)
    charged = _sum((claim.amount for claim in claims if claim.charged), currency)
    undecided = _sum((claim.amount for claim in claims if claim.undecided), currency)
    written_off = _sum((claim.amount for claim in claims if claim.written_off), currency)
    left, nothing = paid - charged, _sum((), currency)
    return Settlement(
        deposit=paid,
        charged=charged,
        refund=max(left, nothing),
        to_pay=max(-left, nothing),
        undecided=undecided,
        written_off=written_off,
    )


def pay_by(settled_on: date | None, days: int | None) -> date | None:
    """Until when what is left must be paid: so many days after the settling; nothing where the loan
    is not settled, or the practice names no number of days.
    """
    if settled_on is None or days is None:
        return None
    return settled_on + timedelta(days=days)


def _sum(amounts: Iterable[Decimal], currency: str) -> Decimal:
    rounded = (round_money(amount, currency) for amount in amounts)
    return sum(rounded, round_money(Decimal(0), currency))
