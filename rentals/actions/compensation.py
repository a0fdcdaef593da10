"""What a carrier owes for a parcel that it lost or damaged."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from decimal import Decimal

from rentals import transaction
from rentals.accounts import Account, EntryKind
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Entry, Kit, Loan
from rentals.planning.ledger import balance
from rentals.planning.money import money_text
from rentals.selectors.ledger import loan_currency, loan_lines

from .balance import Paid
from .ledger import ledger_data, post_entry, reverse_entry, standing_entry
from .record import Actor, lock_kit, record_kit


def carrier_owes(loan: Loan) -> Decimal:
    """What the carrier has been asked for on a loan and has not paid."""
    return balance(loan_lines(loan), Account.CARRIER)


@transaction.atomic
def claim_compensation(
    loan: Loan, asked: Paid, *, actor: Actor = None, at: datetime | None = None
) -> Loan:
    """A compensation is asked of the carrier.

    Raises
    ------
    Refused
        If the kit never went out, or the amount is not above zero.
    """
    kit, loan = _locked(loan)
    if loan.dispatched_at is None:
        raise Refused("The kit has not gone out: no carrier had it.")
    _post(kit, loan, EntryKind.COMPENSATION_CLAIMED, asked, "Asked of the carrier", actor, at)
    return loan


@transaction.atomic
def receive_compensation(
    loan: Loan, paid: Paid, *, actor: Actor = None, at: datetime | None = None
) -> Loan:
    """The carrier has paid: all that was asked, or a part.

    Raises
    ------
    Refused
        If nothing is asked of the carrier, or more was paid than that.
    """
    kit, loan = _locked(loan)
    owed = carrier_owes(loan)
    if not owed:
        raise Refused("Nothing is asked of the carrier on this loan.")
    paid = paid if paid.amount is not None else replace(paid, amount=owed)
    if paid.amount is not None and paid.amount > owed:
        asked = money_text(owed, loan_currency(loan))
        raise Refused(f"{asked} is asked of the carrier, not more.", field="amount")
    _post(kit, loan, EntryKind.COMPENSATION_RECEIVED, paid, "Paid by the carrier", actor, at)
    return loan


@transaction.atomic
def drop_compensation(
    loan: Loan, *, reason: str, actor: Actor = None, at: datetime | None = None
) -> Loan:
    """The carrier does not pay: what was asked last is taken back.

    Raises
    ------
    Refused
        If nothing is asked of the carrier, it has paid a part, or no reason is given.
    """
    kit, loan = _locked(loan)
    claim = standing_entry(loan, EntryKind.COMPENSATION_CLAIMED)
    if claim is None or carrier_owes(loan) < claim.amount:
        raise Refused("Nothing that is still owed in full is asked of the carrier on this loan.")
    if not reason.strip():
        raise Refused("Say why the carrier does not pay.", field="reason")
    reversal = reverse_entry(claim, memo=reason, actor=actor, at=at)
    _tell(kit, loan, reversal, "Asked of the carrier no more", actor, at)
    return loan


def _locked(loan: Loan) -> tuple[Kit, Loan]:
    kit = lock_kit(loan.kit_id)
    return kit, Loan.objects.select_for_update(no_key=True).get(pk=loan.pk)


def _post(
    kit: Kit,
    loan: Loan,
    kind: EntryKind,
    paid: Paid,
    words: str,
    actor: Actor,
    at: datetime | None,
) -> None:
    amount = paid.amount or Decimal(0)
    day, way, memo = paid.on, paid.way, paid.memo
    entry = post_entry(loan, kind, amount, day=day, way=way, memo=memo, actor=actor, at=at)
    if entry is None:
        raise Refused("Give an amount above zero.", field="amount")
    _tell(kit, loan, entry, words, actor, at)


def _tell(
    kit: Kit, loan: Loan, entry: Entry, words: str, actor: Actor, at: datetime | None
) -> None:
    text = f"{words}: {money_text(entry.amount, entry.currency)}."
    record_kit(kit, Verb.NOTED, text, actor=actor, loan=loan, data=ledger_data(entry), at=at)
