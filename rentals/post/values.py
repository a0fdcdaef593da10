"""What the names of a wording stand for, on one loan."""

from __future__ import annotations

from datetime import date

from django.utils import timezone

from rentals.codes import grouped
from rentals.models import Loan, PackingLine, Practice, Shortfall
from rentals.paper.addresses import address_lines
from rentals.paper.money import money_on_paper
from rentals.paper.statement import settle
from rentals.paper.words import on_paper
from rentals.selectors.paper_facts.practice import practice_facts
from rentals.selectors.paper_facts.statements import statement_facts


def loan_values(
    loan: Loan, *, practice: Practice | None = None, today: date | None = None
) -> dict[str, str]:
    """Every name of `rentals.post.wording.NAMES` with its value; empty where the loan has none."""
    practice = practice or Practice.current()
    sender = practice_facts(practice)
    today = today or timezone.localdate()
    run = loan.enrolment.run

    def day(value: date | None) -> str:
        return on_paper(value, sender.locale) if value else ""

    values = {
        "student": " ".join(loan.enrolment.student.name.split()),
        "run": run.name,
        "kit": grouped(loan.kit.code),
        "due": day(loan.due_on),
        "days": how_far(loan.due_on, today),
        "post_by": day(loan.post_by),
        "sent_on": day(timezone.localdate(loan.dispatched_at) if loan.dispatched_at else None),
        "carrier": loan.carrier,
        "tracking": loan.tracking_number,
        "instructor": practice.instructor,
        "practice": practice.name,
        "practice_email": practice.email,
        "practice_phone": practice.phone,
        "practice_address": _home(sender.address, loan, sender.locale),
    }
    return values | _lines(loan) | _money(loan, practice)


def how_far(day: date, today: date) -> str:
    """How far off a day is: ``today``, ``tomorrow``, ``in 5 days``, ``yesterday``, ``3 days
    ago``.
    """
    days = (day - today).days
    near = {0: "today", 1: "tomorrow", -1: "yesterday"}
    if days in near:
        return near[days]
    return f"in {days} days" if days > 0 else f"{-days} days ago"


def _home(address: object, loan: Loan, locale: str) -> str:
    if address is None:
        return ""
    abroad = str(loan.enrolment.student.country or "") or address.country  # type: ignore[attr-defined]
    return "\n".join(address_lines(address, abroad, locale))  # type: ignore[arg-type]


def _lines(loan: Loan) -> dict[str, str]:
    packed = list(loan.packing_lines.all())
    return {
        "contents": "\n".join(f"- {_named(line)}" for line in packed),
        "to_return": "\n".join(f"- {_named(line)}" for line in packed if line.comes_back),
    }


def _named(line: PackingLine, quantity: int = 0) -> str:
    pieces = quantity or line.quantity
    many = f"{pieces} x " if pieces > 1 else ""
    return f"{many}{line.name}" + (f", serial {line.serial}" if line.serial else "")


def _money(loan: Loan, practice: Practice) -> dict[str, str]:
    """Sums as the statement prints them; a sum of nothing stays empty, so that its line is left
    out.
    """
    facts = statement_facts(loan, practice_facts(practice))
    sums, currency, locale = settle(facts), practice.currency, facts.practice.locale
    said = {
        name: money_on_paper(amount, currency, locale) if amount else ""
        for name, amount in (
            ("deposit", sums.deposit),
            ("charged", sums.charged),
            ("refund", sums.refund),
            ("to_pay", sums.to_pay),
        )
    }
    shortfalls = list(loan.shortfalls.select_related("packing_line"))
    said["charges"] = "\n".join(
        f"- {_named(short.packing_line, short.quantity)}:"
        f" {money_on_paper(short.amount, currency, locale)}"
        for short in shortfalls
        if short.state == Shortfall.State.CHARGED
    )
    said["shortfalls"] = "\n".join(
        f"- {what_to_do(short, _price(short, currency, locale))}"
        for short in shortfalls
        if short.state in Shortfall.UNSETTLED
    )
    return said


def _price(short: Shortfall, currency: str, locale: str) -> str:
    return money_on_paper(short.amount, currency, locale) if short.amount else ""


def what_to_do(short: Shortfall, price: str) -> str:
    """One shortfall in a sentence for the student: what lacks, and what is asked of them."""
    what = _named(short.packing_line, short.quantity)
    detail = f" ({short.detail})" if short.detail else ""
    if short.kind == Shortfall.Kind.MISSING:
        cost = f" A new one costs {price}." if price else ""
        return (
            f"{what}: missing{detail}. Please look for it and post it to us in a padded"
            f" envelope.{cost}"
        )
    cost = f" A repair or a new one costs up to {price}." if price else ""
    return (
        f"{what}: damaged{detail}. You need not send anything; please tell us how it"
        f" happened.{cost}"
    )
