"""The statement at settling: what lacked and who bears it, deposit, charges, and what goes back or
is still to pay. The address stands where the window of an envelope shows it.
"""

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from functools import partial
from itertools import groupby

from rentals.accounts import EntryKind
from rentals.catalogues import gettext, gettext_noop, in_language
from rentals.codes import grouped
from rentals.planning.ledger import LedgerLine
from rentals.planning.money import money_text
from rentals.planning.payment_code import account_lines, payment_code, reference_text
from rentals.planning.settlement import Settlement, settled

from . import words
from .addresses import address_lines
from .facts import ChargeFacts, Printed, StatementFacts
from .flow import Block
from .fonts import FontChooser
from .ink import Ink
from .ledger import MARGIN, LedgerColumn, LedgerHead, LedgerRow, draw_ledger
from .qr import draw_qr
from .window import Envelope

#: Room for the payment code with its quiet zone, and for the line above it.
_CODE_MM, _CAPTION_MM = 36.0, 5.0
#: What an entry is called on a statement, seen by the student; those that change nothing for the
#: student are not on it.
_TOLD = {
    EntryKind.DEPOSIT_RECEIVED: gettext_noop("Deposit paid on {day}"),
    EntryKind.CARRIED_IN: gettext_noop("Deposit carried over from an earlier loan on {day}"),
    EntryKind.CARRIED_OUT: gettext_noop("Deposit carried over to another loan on {day}"),
    EntryKind.CHARGE: gettext_noop("Charged to you on {day}"),
    EntryKind.PAYMENT: gettext_noop("Paid by you on {day}"),
    EntryKind.REFUND: gettext_noop("Paid back to you on {day}"),
    EntryKind.GIVEN_UP: gettext_noop("Asked for no more since {day}"),
}
_TAKEN_BACK = {
    EntryKind.DEPOSIT_RECEIVED: gettext_noop("The deposit was not paid after all, {day}"),
    EntryKind.CHARGE: gettext_noop("Not charged after all, since {day}"),
    EntryKind.PAYMENT: gettext_noop("Not paid by you after all, {day}"),
    EntryKind.REFUND: gettext_noop("Not paid back to you after all, {day}"),
    EntryKind.GIVEN_UP: gettext_noop("Asked for again since {day}"),
}

#: What is wrong with a part, and how far that has come: as rows keep it.
_FATES = {
    "missing": gettext_noop("missing"),
    "damaged": gettext_noop("damaged"),
    "open": gettext_noop("open"),
    "chased": gettext_noop("chased"),
    "recovered": gettext_noop("recovered"),
    "charged": gettext_noop("charged"),
    "waived": gettext_noop("waived"),
}


def settling_statement(
    facts: StatementFacts, *, paper: str | None = None, fonts: FontChooser | None = None
) -> Printed:
    """The statement of one loan as PDF; `rentals.planning.settlement` says how its sums are made.

    Raises ValueError where the practice's currency or the address's country is no valid code.
    """
    with in_language(facts.practice.locale):
        return _drawn(facts, paper, fonts)


def _drawn(facts: StatementFacts, paper: str | None, fonts: FontChooser | None) -> Printed:
    practice = facts.practice
    title = gettext("Statement {code}").format(code=facts.kit_code)
    ink = Ink.for_paper(practice, title, f"{facts.student}, {facts.run}", paper, fonts)
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
        below=_code(facts, sums),
    )
    return ink.printed()


def _head(facts: StatementFacts) -> LedgerHead:
    on = words.on_paper(facts.settled_on, facts.practice.locale)
    code = grouped(facts.kit_code)
    if facts.settled:
        below = gettext("Kit {code}, {run}, settled on {day}")
    else:
        below = gettext("Kit {code}, {run}, as of {day}")
    again = gettext("{student}, kit {code}, {run}")
    return LedgerHead(
        title=gettext("Provisional statement") if _provisional(facts) else gettext("Statement"),
        below_title=below.format(code=code, run=facts.run, day=on),
        blocks=_parties(facts),
        again=(again.format(student=facts.student, code=code, run=facts.run),),
        envelope=_envelope(facts),
    )


def _columns(width: float, with_shortfalls: bool) -> tuple[LedgerColumn, ...]:
    heads = (
        gettext("pieces"),
        gettext("what became of it"),
        gettext("worth"),
        gettext("at our cost"),
        gettext("charged to you"),
    )
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
    totals = (
        gettext("In all"),
        "",
        "",
        money(sums.worth),
        money(sums.written_off),
        money(sums.charged),
    )
    rows.append(LedgerRow(totals, strong=True, keep_with_next=True))
    if sums.undecided:
        cells = (
            gettext("Of it not decided yet, not counted"),
            "",
            "",
            money(sums.undecided),
            "",
            "",
        )
        rows.append(LedgerRow(cells, keep_with_next=True))
    return rows


def _charge_row(facts: StatementFacts, charge: ChargeFacts) -> LedgerRow:
    claim = charge.claim
    amount = _money(facts, charge.amount)
    cells = (
        charge.part,
        str(charge.quantity),
        ", ".join(gettext(_FATES[fate]) for fate in (charge.what, charge.state)),
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
    cells = (gettext(words_of_kind).format(day=day), "", "", "", "", _money(facts, amount))
    about = ", ".join(dict.fromkeys(line.about for line in lines if line.about))
    several = len(lines) > 1 or first.takes_back
    return LedgerRow(cells, note=about if several else "", keep_with_next=True)


def _left(facts: StatementFacts, sums: Settlement) -> tuple[str, Decimal]:
    if sums.to_pay:
        return _to_pay(facts), sums.to_pay
    if sums.refund:
        if _provisional(facts):
            return gettext("To be paid back if nothing more is charged"), sums.refund
        return gettext("To be paid back to you"), sums.refund
    return gettext("Nothing is left to pay on either side"), sums.refund


def _provisional(facts: StatementFacts) -> bool:
    """Whether a shortfall is open: the sums may still change."""
    return any(charge.claim.undecided for charge in facts.charges)


def _to_pay(facts: StatementFacts) -> str:
    if _provisional(facts):
        return gettext("To pay so far")
    if facts.pay_by:
        day = words.on_paper(facts.pay_by, facts.practice.locale)
        return gettext("Still to pay by {day}").format(day=day)
    return gettext("Still to pay")


def _money(facts: StatementFacts, amount: Decimal) -> str:
    return money_text(amount, facts.practice.currency, facts.practice.locale)


def _notes(facts: StatementFacts, sums: Settlement) -> list[str]:
    notes = [_outcome(facts)]
    if sums.written_off:
        ours = gettext("What stands at our cost is paid by {practice}, not by you.")
        notes.append(ours.format(practice=facts.practice.name))
    if _provisional(facts):
        notes.append(
            gettext(
                "This statement is provisional: parts marked open or chased are not settled yet,"
                " and its sums do not count them."
            )
        )
    if _to_be_paid_now(facts, sums):
        notes.append(_how_to_pay(facts, sums))
    practice = facts.practice
    contacts = ", ".join(filter(None, (practice.email, practice.phone)))
    questions = gettext("Questions about this statement: {contact}.")
    notes.append(questions.format(contact=contacts or practice.name))
    return [note for note in notes if note]


def _outcome(facts: StatementFacts) -> str:
    """How the loan ended, in a sentence; empty where the rows above say it."""
    if facts.lost:
        if facts.charges:
            return gettext(
                "The kit has not come back and was written off. The parts above are those that had"
                " to come back."
            )
        return gettext("The kit has not come back and was written off.")
    if not facts.charges:
        return gettext("Everything that had to come back came back in order. Thank you.")
    if all(charge.recovered for charge in facts.charges):
        return gettext("What lacked has come since, so everything is here now. Thank you.")
    return ""


def _to_be_paid_now(facts: StatementFacts, sums: Settlement) -> bool:
    return bool(sums.to_pay) and facts.settled and not _provisional(facts)


def _how_to_pay(facts: StatementFacts, sums: Settlement) -> str:
    if facts.pay_by:
        request = gettext("Please pay {amount} by {day}, naming kit {code}.")
    else:
        request = gettext("Please pay {amount}, naming kit {code}.")
    request = request.format(
        amount=_money(facts, sums.to_pay),
        day=words.on_paper(facts.pay_by, facts.practice.locale),
        code=grouped(facts.kit_code),
    )
    account = account_lines(facts.practice.account)
    reference = reference_text(facts.reference) if facts.reference and account else ""
    lines = (request, facts.practice.payment.strip(), *account, reference)
    return "\n".join(filter(None, lines))


def _code(facts: StatementFacts, sums: Settlement) -> list[Block]:
    """The code that banking apps read, where there is an account to pay into in euros."""
    practice = facts.practice
    if not _to_be_paid_now(facts, sums):
        return []
    text = payment_code(practice.account, sums.to_pay, practice.currency, facts.reference)
    if text is None:
        return []
    return [Block(_CODE_MM + _CAPTION_MM, partial(_draw_code, text=text))]


def _draw_code(ink: Ink, y: float, text: str) -> None:
    with ink.element("P"):
        ink.text(MARGIN, y + 3.5, gettext("To pay with a banking app, scan this code."), 8.5)
    draw_qr(ink, MARGIN, y + _CAPTION_MM, text, _CODE_MM)


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
    blocks = [(gettext("From"), [practice.name, *filter(None, [practice.instructor])])]
    days = ((gettext("Sent {day}"), facts.sent_on), (gettext("Back {day}"), facts.came_back_on))
    loan = [words_of.format(day=words.on_paper(day, locale)) for words_of, day in days if day]
    if facts.lost:
        loan.append(gettext("Not come back"))
    return [*blocks, (gettext("Loan"), loan)] if loan else blocks
