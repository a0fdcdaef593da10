"""What is owed on all loans, read from the ledger; of loans that nobody touched since, kept."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django.db.models import Case, F, Max, Q, Sum, When
from django.db.models.functions import Coalesce
from django.utils import timezone

from rentals.accounts import Account, EntryKind
from rentals.models import OPEN_STAGES, Entry, Loan, LoanStage, Practice
from rentals.next_acts import money_way
from rentals.planning.money import round_money
from rentals.planning.owed import OWES, Debt, Debtor
from rentals.quiet_changes import chain_ends
from rentals.selectors.export import ROWS_AT_ONCE, Cell, ExportFormat, streamed_rows
from rentals.selectors.kept_facts import KeptFacts, Touched
from rentals.selectors.next_steps import Button, button
from rentals.selectors.search import loans_found

#: Loans on which what we owe the student is due: they are over.
_OVER = (LoanStage.SETTLED, LoanStage.CANCELLED)


def _balance(account: Account) -> Any:
    """Debit less credit of an account."""
    signed = Case(
        When(debit=account.value, then=F("amount")),
        When(credit=account.value, then=-F("amount")),
        default=Decimal(0),
    )
    return Coalesce(Sum(signed), Decimal(0))


def _last_day(*kinds: EntryKind) -> Any:
    return Max("day", filter=Q(kind__in=[kind.value for kind in kinds]))


_kept: KeptFacts[list[Debt]] = KeptFacts()


def debts() -> list[Debt]:
    """Everything that is owed now, the oldest first."""
    by_loan = _kept.read(timezone.localdate(), _debts_by_loan, _whose_money_may_differ)
    found = [debt for of_loan in by_loan.values() for debt in of_loan]
    return sorted(found, key=lambda debt: (debt.since, debt.loan, debt.debtor))


def _whose_money_may_differ(touched: Touched, _: Collection[int]) -> Collection[int]:
    """Touched loans and the others of their enrolments: a deposit is carried between these."""
    if not touched.loans:
        return ()
    enrolments = Loan.objects.filter(pk__in=touched.loans).order_by().values("enrolment")
    return set(Loan.objects.filter(enrolment__in=enrolments).values_list("pk", flat=True))


def _debts_by_loan(loans: Collection[int] | None) -> dict[int, list[Debt]]:
    """What is owed on these loans, or on all."""
    entries = Entry.objects.order_by()
    if loans is not None:
        entries = entries.filter(loan__in=loans)
    rows = (
        entries.values("loan", "currency", "loan__stage")
        .annotate(
            student=_balance(Account.STUDENT),
            deposits=_balance(Account.DEPOSITS),
            carrier=_balance(Account.CARRIER),
            asked_on=_last_day(EntryKind.DEPOSIT_ASKED),
            charged_on=_last_day(EntryKind.CHARGE, EntryKind.DEPOSIT_RELEASED),
            back_on=_last_day(EntryKind.DEPOSIT_RELEASED, EntryKind.REVERSAL),
            claimed_on=_last_day(EntryKind.COMPENSATION_CLAIMED),
            last_on=Max("day"),
        )
        .exclude(student=0, deposits=0, carrier=0)
    )
    found: dict[int, list[Debt]] = defaultdict(list)
    for row in rows.iterator(ROWS_AT_ONCE):
        found[row["loan"]] += _debts_of(row)
    return found


def _debts_of(row: Mapping[str, Any]) -> Iterator[Debt]:
    currency, last = row["currency"], row["last_on"]
    student, deposits = row["student"], row["deposits"]
    left = -(student + deposits)
    if row["loan__stage"] in OPEN_STAGES:
        owed = (Debtor.STUDENT, student, row["asked_on"], "deposit that has not come")
    elif left < 0:
        owed = (Debtor.STUDENT, -left, row["charged_on"], "charges beyond the deposit")
    elif row["loan__stage"] in _OVER:
        owed = (Debtor.PRACTICE, left, row["back_on"], "to be paid back")
    else:
        owed = (Debtor.PRACTICE, Decimal(0), last, "")
    of_carrier = (Debtor.CARRIER, row["carrier"], row["claimed_on"], "compensation")
    for debtor, amount, since, why in (owed, of_carrier):
        rounded = round_money(amount, currency)
        if rounded > 0:
            yield Debt(row["loan"], debtor, rounded, currency, since or last, why)


@dataclass(frozen=True)
class OwedRow:
    """A debt with its loan."""

    debt: Debt
    loan: Loan
    days: int

    @property
    def words(self) -> str:
        """Who owes whom."""
        return OWES[self.debt.debtor]

    @property
    def next(self) -> Button:
        """The page on which it is noted as paid."""
        debtor = self.debt.debtor
        way = money_way(
            we_owe=debtor is Debtor.PRACTICE,
            carrier=debtor is Debtor.CARRIER,
            ended=not self.loan.is_open,
        )
        return button(way, loan=self.loan)


def debts_listed(found: Iterable[Debt], debtor: str, words: str) -> list[Debt]:
    """Those of one sort of debtor (all where none is chosen) whose loans fit the words."""
    chosen = [debt for debt in found if debtor in ("", debt.debtor)]
    if not words:
        return chosen
    loans = set(loans_found(words).filter(entries__isnull=False).values_list("pk", flat=True))
    return [debt for debt in chosen if debt.loan in loans]


def owed_rows(shown: Sequence[Debt], today: date) -> list[OwedRow]:
    """Debts with their loans, in the same order; one query for however many."""
    loans = Loan.objects.select_related("kit", "enrolment__student", "enrolment__run")
    loans = loans.defer(*chain_ends("kit"))
    by_number = loans.in_bulk([debt.loan for debt in shown])
    return [OwedRow(debt, by_number[debt.loan], debt.days(today)) for debt in shown]


def due_now(found: Iterable[Debt], today: date, practice: Practice) -> list[Debt]:
    """What presses: money that we owe, and what students owe beyond the days they have for it."""
    grace = timedelta(days=practice.days_to_pay or 0)
    return [
        debt
        for debt in found
        if debt.debtor is Debtor.PRACTICE
        or (debt.debtor is Debtor.STUDENT and _is_charge(debt) and debt.since + grace < today)
    ]


@dataclass(frozen=True)
class DueSums:
    """What presses of one sort of debtor: the first of it, and how many there are in all."""

    title: str
    debtor: Debtor
    rows: list[OwedRow]
    total: int


def dues(today: date, practice: Practice, shown: int) -> list[DueSums]:
    """What presses, refunds first; of each sort so many with their loans."""
    pressing = due_now(debts(), today, practice)
    found = []
    for title, debtor in (("Refunds due", Debtor.PRACTICE), ("Payments overdue", Debtor.STUDENT)):
        of_debtor = [debt for debt in pressing if debt.debtor is debtor]
        rows = owed_rows(of_debtor[:shown], today) if of_debtor else []
        found.append(DueSums(title, debtor, rows, len(of_debtor)))
    return found


def _is_charge(debt: Debt) -> bool:
    return debt.why.startswith("charges")


def export_owed(listed: Sequence[Debt], today: date, form: ExportFormat) -> Iterator[bytes]:
    """The list as a file; its loans are looked up some hundreds at a time."""
    head = ["who owes", "what for", "student", "kit", "run", "amount", "currency", "since", "days"]
    parts = (listed[at : at + ROWS_AT_ONCE] for at in range(0, len(listed), ROWS_AT_ONCE))
    rows = (row for part in parts for row in owed_rows(part, today))
    return streamed_rows(head, map(_cells, rows), form)


def _cells(row: OwedRow) -> list[Cell]:
    debt, loan = row.debt, row.loan
    return [
        row.words,
        debt.why,
        loan.enrolment.student.name,
        loan.kit.code,
        loan.enrolment.run.name,
        str(debt.amount),
        debt.currency,
        debt.since.isoformat(),
        row.days,
    ]
