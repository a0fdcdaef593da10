"""What the names of a wording stand for, on one loan."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date
from decimal import Decimal

from rentals.catalogues import gettext
from rentals.codes import grouped
from rentals.counts import pieces
from rentals.dates import days_off
from rentals.languages import known_locale
from rentals.paper.addresses import address_lines
from rentals.paper.words import on_paper
from rentals.planning.money import money_text
from rentals.planning.payment_code import account_lines, reference_text

from .facts import LackingPart, ListedPart, LoanFacts
from .phrases import USUAL_PHRASES, say


def loan_values(facts: LoanFacts, *, today: date) -> dict[str, str]:
    """Every name of `rentals.post.wording.NAMES` with its value; empty where the loan has none."""
    practice = facts.practice
    return {
        "student": " ".join(facts.student.split()),
        "run": facts.run,
        "kit": grouped(facts.kit_code),
        "due": on_paper(facts.due_on, practice.locale),
        "days": days_off(facts.due_on, today, known_locale(practice.locale)),
        "post_by": on_paper(facts.post_by, practice.locale),
        "sent_on": on_paper(facts.sent_on, practice.locale) if facts.sent_on else "",
        "carrier": facts.carrier,
        "tracking": facts.tracking_number,
        "tracking_link": facts.tracking_link,
        "student_page": facts.student_page,
        "charge_by": on_paper(facts.charge_by, practice.locale) if facts.charge_by else "",
        "renew_by": on_paper(facts.renew_by, practice.locale) if facts.renew_by else "",
        "instructor": practice.instructor,
        "practice": practice.name,
        "practice_email": practice.email,
        "practice_phone": practice.phone,
        "practice_address": _practice_address(facts),
        "contents": _as_list(part_name(part, facts.phrases) for part in facts.packed),
        "to_return": _as_list(part_name(part, facts.phrases) for part in _to_return(facts)),
        **_partly(facts),
        "shortfalls": _as_list(
            what_to_do(lack, _money(lack.amount, facts), facts.phrases)
            for lack in facts.lacking
            if lack.unsettled
        ),
        "charges": _as_list(_charge(lack, facts) for lack in facts.lacking if lack.charged),
        **_outcome(facts),
        **_sums(facts),
    }


def _to_return(facts: LoanFacts) -> list[ListedPart]:
    """What must come back, without what is back already."""
    parts = [part for part in facts.packed if part.comes_back and part.still_out != 0]
    return [replace(part, quantity=part.still_out or part.quantity) for part in parts]


def _partly(facts: LoanFacts) -> dict[str, str]:
    """The kit's code under the name that says whether a part of it has come; then what has not."""
    partly = any(part.still_out is not None for part in facts.packed)
    kit = grouped(facts.kit_code)
    rest = _as_list(part_name(part, facts.phrases) for part in _to_return(facts))
    return {
        "none_back": "" if partly else kit,
        "part_back": kit if partly else "",
        "rest": rest if partly else "",
    }


def _outcome(facts: LoanFacts) -> dict[str, str]:
    """The kit's code under the one name that says how the loan ended; the others stay empty."""
    kit = grouped(facts.kit_code)
    complete = not any(lack.unsettled or lack.for_good for lack in facts.lacking)
    return {
        "back": kit if facts.came_back else "",
        "back_complete": kit if facts.came_back and complete else "",
        "back_short": kit if facts.came_back and not complete else "",
        "not_back": kit if facts.written_off else "",
    }


def _sums(facts: LoanFacts) -> dict[str, str]:
    """Deposit and charges, and what is left of them: paid already, or how and until when."""
    refund, to_pay = _money(facts.refund, facts), _money(facts.to_pay, facts)
    paid_back, paid = _money(facts.refunded, facts), _money(facts.paid, facts)
    paid_on = on_paper(facts.balance_paid_on, facts.practice.locale)
    return {
        "deposit": _money(facts.deposit, facts),
        "charged": _money(facts.charged, facts),
        "borne_by_us": _money(facts.borne_by_us, facts),
        "undecided": _money(facts.undecided, facts),
        "refund": refund or paid_back,
        "refund_due": "" if facts.undecided else refund,
        "paid_back": paid_back,
        "paid_back_on": paid_on if paid_back else "",
        "to_pay": to_pay,
        "pay_by": on_paper(facts.pay_by, facts.practice.locale) if to_pay else "",
        "how_to_pay": _how_to_pay(facts) if to_pay else "",
        "paid": paid,
        "paid_on": paid_on if paid else "",
    }


def _how_to_pay(facts: LoanFacts) -> str:
    """The practice's own words, its account, and the reference to name: figures without words."""
    account = account_lines(facts.practice.account)
    lines = [facts.practice.payment.strip(), *account]
    if facts.reference and account:
        lines.append(reference_text(facts.reference))
    return "\n".join(filter(None, lines))


def part_name(part: ListedPart, phrases: Mapping[str, str] = USUAL_PHRASES) -> str:
    """A part with its count, where it is more than one, and its serial."""
    name = pieces(part.quantity, part.name)
    return say(phrases, "part_serial", part=name, serial=part.serial) if part.serial else name


def what_to_do(lack: LackingPart, price: str, phrases: Mapping[str, str] = USUAL_PHRASES) -> str:
    """One shortfall in a sentence for the student: what lacks, and what is asked of them."""
    return say(
        phrases,
        "missing_part" if lack.missing else "damaged_part",
        part=part_name(lack.part, phrases),
        detail=f" ({lack.detail})" if lack.detail else "",
        price=price,
    )


def _practice_address(facts: LoanFacts) -> str:
    address = facts.practice.address
    if address is None:
        return ""
    from_country = facts.student_country or address.country
    return "\n".join(address_lines(address, from_country, facts.practice.locale))


def _as_list(lines: Iterable[str]) -> str:
    return "\n".join(f"- {line}" for line in lines)


def _money(amount: Decimal, facts: LoanFacts) -> str:
    """A sum as the statement prints it; nothing stays empty, so that its line is left out."""
    if not amount:
        return ""
    return money_text(amount, facts.practice.currency, facts.practice.locale)


def _charge(lack: LackingPart, facts: LoanFacts) -> str:
    amount = money_text(lack.amount, facts.practice.currency, facts.practice.locale)
    line = gettext("{part}: {amount}")
    return line.format(part=part_name(lack.part, facts.phrases), amount=amount)
