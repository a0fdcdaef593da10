"""The statement at settling: deposit, charges per shortfall, and what goes back or is still to
pay.
"""

from dataclasses import dataclass
from decimal import Decimal

from rentals.codes import grouped

from . import words
from .addresses import address_lines
from .facts import ChargeFacts, Printed, StatementFacts
from .fonts import FontChooser
from .ink import Ink
from .ledger import MARGIN, LedgerColumn, LedgerRow, draw_ledger
from .money import money_on_paper, round_money

CHARGED = "charged"
_OPEN = ("open", "chased")


@dataclass(frozen=True)
class Settlement:
    """The sums of a statement, in whole smallest units of the currency; one of ``refund`` and
    ``to_pay`` is zero.
    """

    deposit: Decimal
    charged: Decimal
    refund: Decimal
    to_pay: Decimal


def settle(facts: StatementFacts) -> Settlement:
    """Add up: each charge is rounded by the currency's rules, then summed, so that the lines add to
    the total.

    Only shortfalls in the state ``charged`` count. Raises ValueError for a currency that is none.
    """
    currency = facts.practice.currency
    deposit = round_money(facts.deposit, currency)
    nothing = round_money(Decimal(0), currency)
    charges = (
        round_money(charge.amount, currency) for charge in facts.charges if charge.state == CHARGED
    )
    charged = sum(charges, nothing)
    left = deposit - charged
    return Settlement(deposit, charged, max(left, nothing), max(-left, nothing))


def settling_statement(
    facts: StatementFacts, *, paper: str | None = None, fonts: FontChooser | None = None
) -> Printed:
    """The statement of one loan as PDF; see ``settle`` for the sums and the errors."""
    practice = facts.practice
    ink = Ink(f"Statement {facts.kit_code}", paper or practice.paper, fonts, author=practice.name)
    width = ink.width_mm - 2 * MARGIN
    draw_ledger(
        ink,
        practice,
        title="Statement",
        below_title=(
            f"Kit {grouped(facts.kit_code)}, {facts.run},"
            f" {'settled on' if facts.settled else 'as of'}"
            f" {words.on_paper(facts.settled_on, practice.locale)}"
        ),
        columns=(
            LedgerColumn("", 0, width - 92),
            LedgerColumn("pieces", width - 90, 14, "r"),
            LedgerColumn("what became of it", width - 70, 40),
            LedgerColumn("amount", width - 28, 28, "r"),
        ),
        rows=_rows(facts),
        notes=_notes(facts),
        blocks=_parties(facts),
    )
    return ink.printed()


def _rows(facts: StatementFacts) -> list[LedgerRow]:
    sums = settle(facts)

    def money(amount: Decimal) -> str:
        return money_on_paper(amount, facts.practice.currency, facts.practice.locale)

    rows = [LedgerRow(("Deposit paid", "", "", money(sums.deposit)))]
    for charge in facts.charges:
        amount = money(-charge.amount) if charge.state == CHARGED else "-"
        rows.append(
            LedgerRow(
                (_named(charge), str(charge.quantity), f"{charge.what}, {charge.state}", amount)
            )
        )
    rows.append(LedgerRow(("Charged in all", "", "", money(-sums.charged)), strong=True))
    last = (
        ("Still to pay", money(sums.to_pay)) if sums.to_pay else (_back(facts), money(sums.refund))
    )
    rows.append(LedgerRow((last[0], "", "", last[1]), strong=True))
    return rows


def _back(facts: StatementFacts) -> str:
    return "Paid back to you" if facts.settled else "To be paid back to you"


def _named(charge: ChargeFacts) -> str:
    return f"{charge.part} ({charge.reason})" if charge.reason else charge.part


def _notes(facts: StatementFacts) -> list[str]:
    notes = []
    if not facts.charges:
        notes.append("Everything that had to come back came back in order. Thank you.")
    if any(charge.state in _OPEN for charge in facts.charges):
        notes.append(
            "Parts marked open or chased are not settled yet; this statement does not count them."
        )
    ask = ", ".join(text for text in (facts.practice.email, facts.practice.phone) if text)
    notes.append(f"Questions about this statement: {ask or facts.practice.name}.")
    return notes


def _parties(facts: StatementFacts) -> list[tuple[str, list[str]]]:
    practice, locale = facts.practice, facts.practice.locale
    home = practice.address.country if practice.address else ""
    to = address_lines(facts.address, home, locale) if facts.address else [facts.student]
    blocks = [("For", to)]
    away = [
        f"{word} {words.on_paper(day, locale)}"
        for word, day in (("Sent", facts.sent_on), ("Back", facts.came_back_on))
        if day
    ]
    if away:
        blocks.append(("Loan", away))
    blocks.append(("From", [practice.name, *filter(None, [practice.instructor])]))
    return blocks
