"""The deposit of a loan: asked when a kit is assigned, received on a day, carried along when the
student gets another kit instead.
"""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from rentals import transaction
from rentals.accounts import EntryKind
from rentals.dates import short_date
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Entry, Loan
from rentals.next_acts import may_take_deposit
from rentals.planning.money import money_text
from rentals.selectors.ledger import loan_currency, loan_sums
from rentals.states import LoanStage

from .ledger import ledger_data, post_entry, release_deposit
from .record import Actor, lock_kit, record_kit
from .renew_mail import renew_loan


def ask_deposit(
    loan: Loan, *, actor: Actor = None, at: datetime | None = None
) -> list[Entry | None]:
    """Ask the deposit of a new loan. What an earlier loan of the same enrolment, taken back before
    its kit was packed, still owes the student is carried over.
    """
    asked = post_entry(loan, EntryKind.DEPOSIT_ASKED, loan.deposit, actor=actor, at=at)
    entries = [asked]
    if asked is None:
        return entries
    earlier = Loan.objects.filter(enrolment=loan.enrolment_id, stage=LoanStage.CANCELLED)
    for before in earlier.filter(entries__isnull=False).distinct().order_by("pk"):
        entries += carry_deposit(before, loan, actor=actor, at=at)
    return entries


def carry_deposit(
    before: Loan, loan: Loan, *, actor: Actor = None, at: datetime | None = None
) -> list[Entry | None]:
    """Carry what we owe the student on one loan over to another one, as far as its deposit is not
    here yet. The caller has locked both and records the entries. Loans of two currencies keep
    theirs.
    """
    if loan_currency(before) != loan_currency(loan):
        return []
    amount = min(loan_sums(before).refund, loan_sums(loan).deposit_open)
    if not amount:
        return []
    to, since = f"to loan {loan.pk}", f"from loan {before.pk}"
    return [
        release_deposit(before, actor=actor, at=at),
        post_entry(before, EntryKind.CARRIED_OUT, amount, memo=to, actor=actor, at=at),
        post_entry(loan, EntryKind.CARRIED_IN, amount, memo=since, actor=actor, at=at),
    ]


@transaction.atomic
def receive_deposit(
    loan: Loan,
    *,
    on: date | None = None,
    amount: Decimal | None = None,
    way: str = "",
    memo: str = "",
    actor: Actor = None,
    at: datetime | None = None,
) -> Loan:
    """The deposit has come: all that is open of it, or a part.

    Raises
    ------
    Refused
        If none is open, more came than is open, or the day is yet to come.
    """
    kit = lock_kit(loan.kit_id)
    loan = Loan.objects.select_for_update(no_key=True).get(pk=loan.pk)
    still_open, currency = loan_sums(loan).deposit_open, loan_currency(loan)
    if not (still_open and may_take_deposit(LoanStage(loan.stage))):
        raise Refused("No deposit is open on this loan.")
    amount = still_open if amount is None else amount
    if amount > still_open:
        raise Refused(
            f"{money_text(still_open, currency)} is open of the deposit, not more.", field="amount"
        )
    if amount <= 0:
        raise Refused("Give the amount that came, above zero.", field="amount")
    kind = EntryKind.DEPOSIT_RECEIVED
    entry = post_entry(loan, kind, amount, day=on, way=way, memo=memo, actor=actor, at=at)
    if entry is None:
        raise Refused("Give the amount that came, above zero.", field="amount")
    text = f"Deposit received on {short_date(entry.day)}: {money_text(amount, currency)}."
    record_kit(kit, Verb.NOTED, text, actor=actor, loan=loan, data=ledger_data(entry), at=at)
    renew_loan(loan, at=at)
    return loan
