"""Writing entries into the ledger of a loan. Whoever calls has locked the kit, and records an event
that carries `ledger_data` of what was written: `manage.py verify` compares the two.
"""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from functools import lru_cache
from operator import attrgetter
from typing import Any

from django.utils import timezone

from rentals.accounts import SIDES, Account, EntryKind
from rentals.errors import Refused
from rentals.models import Entry, Loan, Shortfall
from rentals.planning.ledger import balance
from rentals.planning.money import round_money
from rentals.selectors.ledger import loan_currency, loan_lines

from .record import Actor


def post_entry(
    loan: Loan,
    kind: EntryKind,
    amount: Decimal,
    *,
    day: date | None = None,
    way: str = "",
    memo: str = "",
    shortfall: Shortfall | None = None,
    actor: Actor = None,
    at: datetime | None = None,
) -> Entry | None:
    """Write an entry of a kind, rounded to the currency of the loan; None where nothing is left of
    the amount then. The day is that of `at` where none is given.

    Raises
    ------
    Refused
        If the amount is below zero, or the day is yet to come.
    """
    entry = built_entry(
        loan,
        kind,
        amount,
        loan_currency(loan),
        day=day,
        way=way,
        memo=memo,
        shortfall=shortfall,
        actor=actor,
        at=at,
    )
    if entry is not None:
        entry.save(force_insert=True)
    return entry


def built_entry(
    loan: Loan,
    kind: EntryKind,
    amount: Decimal,
    currency: str,
    *,
    day: date | None = None,
    way: str = "",
    memo: str = "",
    shortfall: Shortfall | None = None,
    actor: Actor = None,
    at: datetime | None = None,
) -> Entry | None:
    """The same entry, not saved yet."""
    at = at or timezone.now()
    rounded = round_money(amount, currency)
    if rounded < 0:
        raise Refused("An amount of the ledger cannot be below zero.", field="amount")
    day = day or timezone.localdate(at)
    if day > timezone.localdate(at):
        raise Refused("That day is yet to come. Give the day on which it happened.", field="on")
    if not rounded:
        return None
    debit, credit = SIDES[kind]
    return Entry(
        loan=loan,
        kind=kind.value,
        debit=debit.value,
        credit=credit.value,
        amount=rounded,
        currency=currency,
        day=day,
        at=at,
        by=actor,
        way=way,
        memo=memo.strip()[:300],
        shortfall=shortfall,
    )


def reverse_entry(
    entry: Entry, *, memo: str = "", actor: Actor = None, at: datetime | None = None
) -> Entry:
    """Take an entry back by its mirror image, on the day of `at`.

    Raises
    ------
    Refused
        If it is a reversal itself, or taken back already.
    """
    if entry.reverses_id or Entry.objects.filter(reverses=entry).exists():
        raise Refused("This entry is taken back already, or takes one back itself.")
    at = at or timezone.now()
    return Entry.objects.create(
        loan=entry.loan,
        kind=EntryKind.REVERSAL.value,
        debit=entry.credit,
        credit=entry.debit,
        amount=entry.amount,
        currency=entry.currency,
        day=max(entry.day, timezone.localdate(at)),
        at=at,
        by=actor,
        way=entry.way,
        memo=memo.strip()[:300],
        shortfall=entry.shortfall,
        reverses=entry,
    )


def standing_entry(loan: Loan, *kinds: EntryKind, **facts: Any) -> Entry | None:
    """The latest entry of these kinds that nothing has taken back."""
    values = [kind.value for kind in kinds]
    entries = Entry.objects.filter(loan=loan, kind__in=values, reversed_by=None, **facts)
    return entries.order_by("-day", "-pk").first()


def release_deposit(loan: Loan, *, actor: Actor = None, at: datetime | None = None) -> Entry | None:
    """Set the deposit off against what the student owes: from now on one account says what is left.
    Whatever of it was asked and never came is owed no more.
    """
    held = -balance(loan_lines(loan), Account.DEPOSITS)
    return post_entry(loan, EntryKind.DEPOSIT_RELEASED, held, actor=actor, at=at)


def ledger_data(*entries: Entry | None) -> dict[str, Any]:
    """What an event says of the entries that were written with it; nothing where none was."""
    facts = [_facts(entry) for entry in entries if entry is not None]
    return {"ledger": facts} if facts else {}


#: The columns that `facts_of_entry` takes.
ENTRY_FACTS = (
    "pk",
    "kind",
    "debit",
    "credit",
    "amount",
    "currency",
    "day",
    "reverses_id",
    "shortfall_id",
)


_COLUMNS = attrgetter(*ENTRY_FACTS)


def facts_of_entry(
    pk: int,
    kind: str,
    debit: str,
    credit: str,
    amount: Decimal,
    currency: str,
    day: date,
    reverses: int | None,
    shortfall: int | None,
) -> dict[str, Any]:
    """What an event tells of an entry, from its columns."""
    return {
        "entry": pk,
        "kind": str(kind),
        "debit": str(debit),
        "credit": str(credit),
        "amount": _rounded(amount, currency),
        "currency": currency,
        "day": day.isoformat(),
        "reverses": reverses,
        "shortfall": shortfall,
    }


@lru_cache(maxsize=5000)
def _rounded(amount: Decimal, currency: str) -> str:
    return str(round_money(amount, currency))


def _facts(entry: Entry) -> dict[str, Any]:
    return facts_of_entry(*_COLUMNS(entry))
