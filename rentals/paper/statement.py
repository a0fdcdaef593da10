"""The statement at settling: what lacked and who bears it, deposit, charges, and what goes back or
is still to pay. The address stands where the window of an envelope shows it.
"""

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from functools import partial
from itertools import groupby

from rentals.accounts import EntryKind
from rentals.codes import grouped
from rentals.planning.ledger import LedgerLine
from rentals.planning.money import money_text
from rentals.planning.settlement import Settlement, settled

from . import words
from .addresses import address_lines
from .facts import ChargeFacts, Printed, StatementFacts
from .fonts import FontChooser
from .ink import Ink
from .ledger import MARGIN, LedgerColumn, LedgerHead, LedgerRow, draw_ledger
from .window import Envelope

#: What an entry is called on a statement, seen by the student; those that change nothing for the
#: student are not on it.
_TOLD = {
    EntryKind.DEPOSIT_RECEIVED: "Deposit paid on {day}",
    EntryKind.CARRIED_IN: "Deposit carried over from an earlier loan on {day}",
    EntryKind.CARRIED_OUT: "Deposit carried over to another loan on {day}",
    EntryKind.CHARGE: "Charged to you on {day}",
    EntryKind.PAYMENT: "Paid by you on {day}",
    EntryKind.REFUND: "Paid back to you on {day}",
    EntryKind.GIVEN_UP: "Asked for no more since {day}",
}
_TAKEN_BACK = {
    EntryKind.DEPOSIT_RECEIVED: "The deposit was not paid after all, {day}",
    EntryKind.CHARGE: "Not charged after all, since {day}",
    EntryKind.PAYMENT: "Not paid by you after all, {day}",
    EntryKind.REFUND: "Not paid back to you after all, {day}",
    EntryKind.GIVEN_UP: "Asked for again since {day}",
}


def settling_statement(
    facts: StatementFacts, *, paper: str | None = None, fonts: FontChooser | None = None
) -> Printed:
    """The statement of one loan as PDF; `rentals.planning.settlement` says how its sums are made.

    Raises ValueError where the practice's currency or the address's country is no valid code.
    """
    practice = facts.practice
    subject = f"{facts.student}, {facts.run}"
    ink = Ink.for_paper(practice, f"Statement {facts.kit_code}", subject, paper, fonts)
    ink.country = facts.address.country if facts.address else ""
    claims = [charge.claim for charge in facts.charges]
    sums = settled(facts.lines, claims, practice.currency)
    draw_ledger(
        ink,
        practice,
        _head(facts),
        columns=_columns(ink.width_mm - 2 * MARGIN, bool(facts.charges)),
        rows=[*_lacking(facts, sums), *_ledger(facts, sums)],
        notes=_notes(facts, sums),
    )
    return ink.printed()


def _head(facts: StatementFacts) -> LedgerHead:
    on = words.on_paper(facts.settled_on, facts.practice.locale)
    return LedgerHead(
        title="Provisional statement" if _provisional(facts) else "Statement",
        below_title=(
            f"Kit {grouped(facts.kit_code)}, {facts.run},"
            f" {'settled on' if facts.settled else 'as of'} {on}"
        ),
        blocks=_parties(facts),
        again=(f"{facts.student}, kit {grouped(facts.kit_code)}, {facts.run}",),
        envelope=_envelope(facts),
    )


def _columns(width: float, with_shortfalls: bool) -> tuple[LedgerColumn, ...]:
    heads = ("pieces", "what became of it", "worth", "at our cost", "charged to you")
    pieces, fate, worth, ours, yours = heads if with_shortfalls else ("",) * 5
    return (
        LedgerColumn("", 0, width - 112),
        LedgerColumn(pieces, width - 110, 11, "r"),
        LedgerColumn(fate, width - 96, 30),
        LedgerColumn(worth, width - 65, 20, "r"),
        LedgerColumn(ours, width - 43, 20, "r"),
        LedgerColumn(yours, width - 21, 21, "r"),
    )


def _lacking(facts: StatementFacts, sums: Settlement) -> list[LedgerRow]:
    """Each part that lacked, its worth under who bears it, and the sums of the columns."""
    if not facts.charges:
        return []
    money = partial(_money, facts)
    rows = [_charge_row(facts, charge) for charge in facts.charges]
    totals = ("In all", "", "", money(sums.worth), money(sums.written_off), money(sums.charged))
    rows.append(LedgerRow(totals, strong=True, keep_with_next=True))
    if sums.undecided:
        cells = ("Of it not decided yet, not counted", "", "", money(sums.undecided), "", "")
        rows.append(LedgerRow(cells, keep_with_next=True))
    return rows


def _charge_row(facts: StatementFacts, charge: ChargeFacts) -> LedgerRow:
    claim = charge.claim
    amount = _money(facts, charge.amount)
    cells = (
        charge.part,
        str(charge.quantity),
        f"{charge.what}, {charge.state}",
        "-" if charge.recovered else amount,
        amount if claim.written_off else "-",
        amount if claim.charged else "-",
    )
    return LedgerRow(cells, note=charge.reason)


def _ledger(facts: StatementFacts, sums: Settlement) -> list[LedgerRow]:
    """What was paid, charged and taken back, by day, and what is left of it: the rows add up to the
    last one.
    """
    rows = [_entry_row(facts, list(lines)) for lines in _told_together(facts.lines)]
    left, amount = _left(facts, sums)
    total = LedgerRow((left, "", "", "", "", _money(facts, amount)), strong=True)
    return [*rows, total]


def _told_together(lines: Sequence[LedgerLine]) -> Iterator[Iterable[LedgerLine]]:
    """Entries that change how the student stands, those of one sort and day as one row."""
    told = (line for line in lines if line.for_the_student)
    for _, group in groupby(told, key=lambda line: (line.day, line.kind, line.takes_back)):
        yield group


def _entry_row(facts: StatementFacts, lines: list[LedgerLine]) -> LedgerRow:
    first = lines[0]
    words_of_kind = _TAKEN_BACK[first.takes_back] if first.takes_back else _TOLD[first.kind]
    day = words.on_paper(first.day, facts.practice.locale)
    amount = sum((line.for_the_student for line in lines), Decimal(0))
    cells = (words_of_kind.format(day=day), "", "", "", "", _money(facts, amount))
    about = ", ".join(dict.fromkeys(line.about for line in lines if line.about))
    several = len(lines) > 1 or first.takes_back
    return LedgerRow(cells, note=about if several else "", keep_with_next=True)


def _left(facts: StatementFacts, sums: Settlement) -> tuple[str, Decimal]:
    if sums.to_pay:
        return _to_pay(facts), sums.to_pay
    if sums.refund:
        if _provisional(facts):
            return "To be paid back if nothing more is charged", sums.refund
        return "To be paid back to you", sums.refund
    return "Nothing is left to pay on either side", sums.refund


def _provisional(facts: StatementFacts) -> bool:
    """Whether a shortfall is open: the sums may still change."""
    return any(charge.claim.undecided for charge in facts.charges)


def _to_pay(facts: StatementFacts) -> str:
    if _provisional(facts):
        return "To pay so far"
    by = f" by {words.on_paper(facts.pay_by, facts.practice.locale)}" if facts.pay_by else ""
    return f"Still to pay{by}"


def _money(facts: StatementFacts, amount: Decimal) -> str:
    return money_text(amount, facts.practice.currency, facts.practice.locale)


def _notes(facts: StatementFacts, sums: Settlement) -> list[str]:
    notes = [_outcome(facts)]
    if sums.written_off:
        notes.append(f"What stands at our cost is paid by {facts.practice.name}, not by you.")
    if _provisional(facts):
        notes.append(
            "This statement is provisional: parts marked open or chased are not settled yet, and"
            " its sums do not count them."
        )
    if sums.to_pay and facts.settled and not _provisional(facts):
        notes.append(_how_to_pay(facts, sums))
    practice = facts.practice
    contacts = ", ".join(filter(None, (practice.email, practice.phone)))
    notes.append(f"Questions about this statement: {contacts or practice.name}.")
    return [note for note in notes if note]


def _outcome(facts: StatementFacts) -> str:
    """How the loan ended, in a sentence; empty where the rows above say it."""
    if facts.lost:
        above = " The parts above are those that had to come back." if facts.charges else ""
        return f"The kit has not come back and was written off.{above}"
    if not facts.charges:
        return "Everything that had to come back came back in order. Thank you."
    if all(charge.recovered for charge in facts.charges):
        return "What lacked has come since, so everything is here now. Thank you."
    return ""


def _how_to_pay(facts: StatementFacts, sums: Settlement) -> str:
    by = f" by {words.on_paper(facts.pay_by, facts.practice.locale)}" if facts.pay_by else ""
    request = f"Please pay {_money(facts, sums.to_pay)}{by}, naming kit {grouped(facts.kit_code)}."
    return f"{request}\n{facts.practice.payment.strip()}".strip()


def _envelope(facts: StatementFacts) -> Envelope:
    practice = facts.practice
    if practice.address is None:
        to = address_lines(facts.address) if facts.address else [facts.student]
        return Envelope(tuple(to), practice.name)
    home, locale = practice.address.country, practice.locale
    to = address_lines(facts.address, home, locale) if facts.address else [facts.student]
    return Envelope(tuple(to), ", ".join(address_lines(practice.address, home, locale)))


def _parties(facts: StatementFacts) -> list[tuple[str, list[str]]]:
    practice, locale = facts.practice, facts.practice.locale
    blocks = [("From", [practice.name, *filter(None, [practice.instructor])])]
    loan = [
        f"{word} {words.on_paper(day, locale)}"
        for word, day in (("Sent", facts.sent_on), ("Back", facts.came_back_on))
        if day
    ]
    if facts.lost:
        loan.append("Not come back")
    return [*blocks, ("Loan", loan)] if loan else blocks
