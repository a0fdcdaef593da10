"""The deposit of a loan: asked when a kit is assigned, received on a day, carried along when the
student gets another kit instead.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from decimal import Decimal

from rentals import transaction
from rentals.accounts import EntryKind
from rentals.dates import short_date
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Entry, Loan, Practice
from rentals.next_acts import may_take_deposit
from rentals.planning.money import money_text
from rentals.selectors.ledger import loan_currency, loan_sums
from rentals.states import LoanStage

from .ledger import built_entry, ledger_data, post_entry, release_deposit
from .record import Actor, lock_kit, record_kit
from .renew_mail import renew_loan


def ask_deposits(
    loans: Sequence[Loan], *, actor: Actor = None, at: datetime | None = None
) -> dict[int, list[Entry | None]]:
    """Ask the deposits of new loans; the entries by the loan's number. What an earlier loan of the
    same enrolment, taken back before its kit was packed, still owes the student is carried over.
    """
    # A new loan has no entry yet, and so the currency of the practice.
    currency, kind = Practice.current().currency, EntryKind.DEPOSIT_ASKED
    asked = [built_entry(loan, kind, loan.deposit, currency, actor=actor, at=at) for loan in loans]
    owing = _taken_back(loan for loan, entry in zip(loans, asked, strict=True) if entry)
    entries: dict[int, list[Entry | None]] = {}
    waiting: list[Entry] = []
    for loan, entry in zip(loans, asked, strict=True):
        entries[loan.pk] = [entry]
        if entry is None:
            continue
        waiting.append(entry)
        if earlier := owing.get(loan.enrolment_id):
            Entry.objects.bulk_create(waiting)
            waiting = []
            for before in earlier:
                entries[loan.pk] += carry_deposit(before, loan, actor=actor, at=at)
    Entry.objects.bulk_create(waiting)
    return entries


def _taken_back(loans: Iterable[Loan]) -> dict[int, list[Loan]]:
    """Loans of these enrolments that were taken back and have entries, by enrolment."""
    numbers = [loan.enrolment_id for loan in loans]
    if not numbers:
        return {}
    earlier = Loan.objects.filter(enrolment__in=numbers, stage=LoanStage.CANCELLED)
    found: dict[int, list[Loan]] = {}
    for before in earlier.filter(entries__isnull=False).distinct().order_by("pk"):
        found.setdefault(before.enrolment_id, []).append(before)
    return found


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
