"""What is left of a settled loan is paid: the deposit's rest to the student, or by the student what
was still to pay.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from django.utils import timezone

from rentals import transaction
from rentals.accounts import EntryKind
from rentals.dates import short_date
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Entry, Kit, Loan
from rentals.next_acts import may_note_payment
from rentals.planning.money import money_text
from rentals.selectors.ledger import loan_currency, loan_sums
from rentals.states import LoanStage

from .ledger import ledger_data, post_entry, reverse_entry, standing_entry
from .of_erased import refuse_erased
from .record import Actor, lock_kit, record_kit
from .renew_mail import renew_loan

_MOVES = (EntryKind.REFUND, EntryKind.PAYMENT)


@dataclass(frozen=True)
class Paid:
    """Money that went over the table: all that is left where no amount is named."""

    amount: Decimal | None = None
    way: str = ""
    memo: str = ""
    on: date | None = None


@transaction.atomic
def note_balance_paid(
    loan: Loan,
    on: date | None,
    paid: Paid | None = None,
    *,
    actor: Actor = None,
    at: datetime | None = None,
) -> Loan:
    """Write down what was paid on a day; without a day, that the last of it is not paid after all.
    Where nothing is left, the day of the last payment is corrected. A mail that waits says it too.

    Raises
    ------
    Refused
        If the loan is not settled, nothing is left to pay, more was paid than is left, or the day
        is yet to come.
    """
    kit, loan = _locked(loan)
    at, last = at or timezone.now(), standing_entry(loan, *_MOVES)
    sums = loan_sums(loan)
    nothing_left = not (sums.refund or sums.to_pay)
    if last is None and nothing_left:
        raise Refused("Nothing is left to pay on either side.")
    if on is None and last is None:
        return loan
    if on is not None and on > timezone.localdate(at):
        raise Refused(
            f"{short_date(on)} is yet to come. Give the day on which it was paid.", field="on"
        )
    if last is not None and (on is None or nothing_left):
        if on == last.day:
            return loan
        paid = paid or Paid(last.amount, last.way, last.memo)
        _take_back(kit, loan, last, actor, at)
    if on is not None:
        _pay(kit, loan, on, paid or Paid(), actor, at)
    renew_loan(loan, at=at)
    return loan


@transaction.atomic
def give_up_balance(
    loan: Loan, *, reason: str, actor: Actor = None, at: datetime | None = None
) -> Loan:
    """What a student still has to pay is asked for no more: the practice bears it.

    Raises
    ------
    Refused
        If the loan is not settled, the student owes nothing, or no reason is given.
    """
    kit, loan = _locked(loan)
    owed = loan_sums(loan).to_pay
    if not owed:
        raise Refused("The student owes nothing on this loan.")
    if not reason.strip():
        raise Refused("Say why it is asked for no more.", field="reason")
    entry = post_entry(loan, EntryKind.GIVEN_UP, owed, memo=reason, actor=actor, at=at)
    text = f"Asked for no more: {money_text(owed, loan_currency(loan))}."
    record_kit(kit, Verb.NOTED, text, actor=actor, loan=loan, data=ledger_data(entry), at=at)
    renew_loan(loan, at=at)
    return loan


def _locked(loan: Loan) -> tuple[Kit, Loan]:
    kit = lock_kit(loan.kit_id)
    loan = Loan.objects.select_for_update(no_key=True).get(pk=loan.pk)
    refuse_erased(loan)
    if not may_note_payment(LoanStage(loan.stage)):
        raise Refused("The loan is not settled yet: what is left to pay may still change.")
    return kit, loan


def _pay(kit: Kit, loan: Loan, on: date, paid: Paid, actor: Actor, at: datetime) -> None:
    sums, currency = loan_sums(loan), loan_currency(loan)
    left = sums.refund or sums.to_pay
    if not left:
        raise Refused("Nothing is left to pay on either side.")
    amount = left if paid.amount is None else paid.amount
    if not 0 < amount <= left:
        raise Refused(
            f"Between nothing and {money_text(left, currency)} can be paid.", field="amount"
        )
    kind = EntryKind.REFUND if sums.refund else EntryKind.PAYMENT
    way, memo = paid.way, paid.memo
    entry = post_entry(loan, kind, amount, day=on, way=way, memo=memo, actor=actor, at=at)
    who = "What was left of the deposit was paid back" if sums.refund else "The student paid"
    text = f"{who} on {short_date(on)}: {money_text(amount, currency)}."
    record_kit(kit, Verb.NOTED, text, actor=actor, loan=loan, data=ledger_data(entry), at=at)


def _take_back(kit: Kit, loan: Loan, last: Entry, actor: Actor, at: datetime) -> None:
    reversal = reverse_entry(last, actor=actor, at=at)
    is_refund = last.kind == EntryKind.REFUND
    what = "What was left of the deposit" if is_refund else "What the student owes"
    text = f"{what} is not paid after all."
    record_kit(kit, Verb.NOTED, text, actor=actor, loan=loan, data=ledger_data(reversal), at=at)
