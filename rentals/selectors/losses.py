"""What an act that ends something loses, by name and in money: for the page that asks first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import QuerySet

from rentals.counts import counted, pieces
from rentals.dates import short_date
from rentals.models import FoundPart, Kit, Loan, PackingLine, Practice
from rentals.planning.money import money_text
from rentals.planning.settlement import Settlement, replacement_cost
from rentals.selectors.arrival import asked_of_student
from rentals.states import UNENDED_FINDS, ShortfallKind

from .ledger import loan_currency, loan_sums


@dataclass(frozen=True)
class Owed:
    """What should have come back: each line with its worth, and the worth of all."""

    lines: tuple[str, ...]
    total: str


def lines_still_out(loan: Loan) -> QuerySet[PackingLine]:
    """What of a loan has not come back: without the parts that were found in other parcels."""
    here = FoundPart.objects.filter(part__packing_lines__loan=loan, state__in=UNENDED_FINDS)
    lines = loan.packing_lines.filter(comes_back=True)
    came_alone = loan.replacements.filter(faulty_back_at__isnull=False)
    lines = lines.exclude(pk__in=came_alone.values("faulty"))
    return lines.exclude(part__in=here.values("part"))


def owed_of(loan: Loan) -> Owed:
    """What becomes a shortfall if the kit of a loan never comes back."""
    currency = Practice.current().currency
    lines, total = [], Decimal(0)
    for line in lines_still_out(loan):
        asked = asked_of_student(line, ShortfallKind.MISSING, line.quantity)
        if not asked:
            continue
        worth = replacement_cost(line.replacement_price, asked)
        total += worth
        lines.append(f"{pieces(asked, line.name)}: {money_text(worth, currency)}")
    return Owed(tuple(lines), money_text(total, currency))


def parts_of(kit: Kit) -> tuple[str, ...]:
    """The parts fitted in a kit, by name."""
    parts = kit.parts.order_by("code")
    return tuple(f"{part.get_kind_display()} {part.code}, serial {part.serial}" for part in parts)


def ticks_of(loan: Loan) -> str:
    """What has been laid into the parcel of a loan, in words; empty for nothing."""
    ticked = loan.packing_lines.filter(ticked_at__isnull=False).count()
    return counted(ticked, "ticked line", "ticked lines") if ticked else ""


def sums_in_words(loan: Loan) -> Sequence[str]:
    """Deposit, charges and what goes back or is still to pay, one sentence each."""
    currency, sums = loan_currency(loan), loan_sums(loan)
    sentences = [
        f"Deposit paid: {money_text(sums.deposit, currency)}.",
        f"Charged: {money_text(sums.charged, currency)}.",
    ]
    if sums.deposit_open:
        never_came = money_text(sums.deposit_open, currency)
        sentences.insert(1, f"Deposit that never came, asked for no more: {never_came}.")
    if sums.undecided:
        sentences.append(f"Not decided yet: {money_text(sums.undecided, currency)}.")
    if sums.written_off:
        borne = money_text(sums.written_off, currency)
        sentences.append(f"Written off, at the practice's cost: {borne}.")
    return [*sentences, *balance_of(sums, currency)]


def deposit_in_words(loan: Loan) -> str:
    """What of the deposit has not come yet; empty where nothing lacks."""
    sums = loan_sums(loan)
    if not sums.deposit_open:
        return ""
    still_open = money_text(sums.deposit_open, loan_currency(loan))
    return f"The deposit has not come: {still_open} is open."


def balance_in_words(loan: Loan) -> str:
    """What is left of a loan once deposit and charges are set off, and what of it is paid."""
    return " ".join(balance_of(loan_sums(loan), loan_currency(loan)))


def balance_of(sums: Settlement, currency: str) -> list[str]:
    """What was paid and what is left, one sentence each."""
    on = f" on {short_date(sums.paid_on)}" if sums.paid_on else ""
    told = (
        (f"Paid back{on}", sums.refunded),
        (f"Paid by the student{on}", sums.paid),
        ("Asked for no more", sums.given_up),
        ("To be paid back", sums.refund),
        ("Still to pay", sums.to_pay),
    )
    sentences = [f"{words}: {money_text(amount, currency)}." for words, amount in told if amount]
    return sentences or ["Nothing is left to pay on either side."]
