"""The statement at settling: deposit, charges per shortfall, and what goes back or is still to
pay.
"""

from decimal import Decimal

from rentals.codes import grouped
from rentals.planning.money import money_text
from rentals.planning.settlement import settlement

from . import words
from .addresses import address_lines
from .facts import ChargeFacts, Printed, StatementFacts
from .fonts import FontChooser
from .ink import Ink
from .ledger import MARGIN, LedgerColumn, LedgerRow, draw_ledger


def settling_statement(
    facts: StatementFacts, *, paper: str | None = None, fonts: FontChooser | None = None
) -> Printed:
    """The statement of one loan as PDF; `rentals.planning.settlement` says how its sums are made.

    Raises ValueError where the practice's currency or the address's country is no valid code.
    """
    practice = facts.practice
    ink = Ink(f"Statement {facts.kit_code}", paper or practice.paper, fonts, author=practice.name)
    width = ink.width_mm - 2 * MARGIN
    draw_ledger(
        ink,
        practice,
        title="Provisional statement" if _provisional(facts) else "Statement",
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
    currency, locale = facts.practice.currency, facts.practice.locale
    claims = [charge.claim for charge in facts.charges]
    sums = settlement(facts.deposit, claims, currency)

    def sum_row(head: str, amount: Decimal, *, strong: bool = True) -> LedgerRow:
        return LedgerRow((head, "", "", money_text(amount, currency, locale)), strong)

    def charge_row(charge: ChargeFacts) -> LedgerRow:
        fate = f"{charge.what}, {charge.state}"
        amount = money_text(-charge.amount, currency, locale) if charge.claim.charged else "-"
        return LedgerRow((_charge_words(charge), str(charge.quantity), fate, amount))

    to_pay = sum_row("To pay so far" if _provisional(facts) else "Still to pay", sums.to_pay)
    refund = sum_row(_paid_back(facts), sums.refund)
    rows = [
        sum_row("Deposit paid", sums.deposit, strong=False),
        *map(charge_row, facts.charges),
        sum_row("Charged in all", -sums.charged),
    ]
    if sums.undecided:
        rows.append(sum_row("Open, not counted yet", sums.undecided))
    return [*rows, to_pay if sums.to_pay else refund]


def _provisional(facts: StatementFacts) -> bool:
    """Whether a shortfall is open: the sums may still change."""
    return any(charge.claim.undecided for charge in facts.charges)


def _paid_back(facts: StatementFacts) -> str:
    if _provisional(facts):
        return "To be paid back if nothing more is charged"
    return "Paid back to you" if facts.settled else "To be paid back to you"


def _charge_words(charge: ChargeFacts) -> str:
    return f"{charge.part} ({charge.reason})" if charge.reason else charge.part


def _notes(facts: StatementFacts) -> list[str]:
    notes = []
    if not facts.charges:
        notes.append("Everything that had to come back came back in order. Thank you.")
    if _provisional(facts):
        notes.append(
            "This statement is provisional: parts marked open or chased are not settled yet, and"
            " its sums do not count them."
        )
    contacts = ", ".join(filter(None, (facts.practice.email, facts.practice.phone)))
    notes.append(f"Questions about this statement: {contacts or facts.practice.name}.")
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
