"""The money of a loan at its end: deposit, what each shortfall costs and who bears it, what goes
back or is still to pay, and until when. The deposit rule stands here and nowhere else; its sums
come from the ledger.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

from rentals.accounts import EntryKind

from .ledger import OF_THE_STUDENT, LedgerLine, balance, last_day_of, line_of, sum_of
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

    One of ``refund`` and ``to_pay`` is zero: what is still to be paid back, or by the student.
    ``deposit`` is what was received of it and ``deposit_open`` what is not here yet. ``refunded``
    and ``paid`` have moved already, the last of it on ``paid_on``. ``written_off`` is what the
    practice bears itself, ``given_up`` what it does not ask for any more, ``undecided`` the worth
    of the shortfalls that nobody has decided on: no other sum counts them.
    """

    deposit: Decimal
    charged: Decimal
    refund: Decimal
    to_pay: Decimal
    undecided: Decimal
    written_off: Decimal
    deposit_open: Decimal = Decimal(0)
    refunded: Decimal = Decimal(0)
    paid: Decimal = Decimal(0)
    given_up: Decimal = Decimal(0)
    paid_on: date | None = None

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
    """Set a deposit that was received off against what is charged.

    Each claim is rounded by the currency's rules and then summed, so that printed lines add up to
    the printed total. Raises ValueError for letters that are no currency.
    """
    claims = list(claims)
    return settled(plain_lines(deposit, claims, currency), claims, currency)


def plain_lines(
    deposit: Decimal, claims: Iterable[Claim], currency: str, day: date = date.min
) -> list[LedgerLine]:
    """The ledger of a loan whose deposit was received, and whose claims were decided on, all of it
    on one day.

    Raises ValueError for letters that are no currency.
    """
    kinds = [EntryKind.DEPOSIT_ASKED, EntryKind.DEPOSIT_RECEIVED]
    amounts = [(kind, deposit) for kind in kinds]
    amounts += [(EntryKind.CHARGE, claim.amount) for claim in claims if claim.charged]
    amounts += [(EntryKind.WAIVED, claim.amount) for claim in claims if claim.written_off]
    rounded = [(kind, round_money(amount, currency)) for kind, amount in amounts]
    return [line_of(kind, amount, day) for kind, amount in rounded if amount]


def settled(lines: Sequence[LedgerLine], claims: Iterable[Claim], currency: str) -> Settlement:
    """What a loan's ledger comes to. Of the claims only those that are undecided count: all others
    stand in the ledger.

    Raises ValueError for letters that are no currency.
    """
    zero = round_money(Decimal(0), currency)
    came = sum_of(lines, EntryKind.DEPOSIT_RECEIVED, EntryKind.CARRIED_IN)
    released = sum_of(lines, EntryKind.DEPOSIT_RELEASED)
    lacks = zero if released else sum_of(lines, EntryKind.DEPOSIT_ASKED) - came
    left = zero - sum((balance(lines, account) for account in OF_THE_STUDENT), zero)
    return Settlement(
        deposit=zero + came - sum_of(lines, EntryKind.CARRIED_OUT),
        charged=zero + sum_of(lines, EntryKind.CHARGE),
        refund=max(left, zero),
        to_pay=max(-left, zero),
        undecided=_sum((claim.amount for claim in claims if claim.undecided), currency),
        written_off=zero + sum_of(lines, EntryKind.WAIVED),
        deposit_open=max(zero + lacks, zero),
        refunded=zero + sum_of(lines, EntryKind.REFUND),
        paid=zero + sum_of(lines, EntryKind.PAYMENT),
        given_up=zero + sum_of(lines, EntryKind.GIVEN_UP),
        paid_on=last_day_of(lines, EntryKind.REFUND, EntryKind.PAYMENT),
    )


def pay_by(settled_on: date | None, days: int | None) -> date | None:
    """Until when what is left must be paid: so many days after the settling; nothing where the loan
    is not settled, or the practice names no number of days.
    """
    if settled_on is None or days is None:
        return None
    return settled_on + timedelta(days=days)


def proposed_for_charging(opened_on: date, days: int | None, today: date) -> bool:
    """Whether a shortfall has been asked for as long as the practice says; never where it says
    nothing.
    """
    return days is not None and today >= opened_on + timedelta(days=days)


def _sum(amounts: Iterable[Decimal], currency: str) -> Decimal:
    rounded = (round_money(amount, currency) for amount in amounts)
    return sum(rounded, round_money(Decimal(0), currency))
