"""The contents statement for a parcel that leaves the customs area: a neutral sheet to copy the
carrier's form from.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from rentals.catalogues import gettext, gettext_noop, in_language
from rentals.codes import grouped
from rentals.planning.contents import mass_of
from rentals.planning.money import money_text, round_money

from . import words
from .addresses import address_lines, country_name
from .facts import PackingLineFacts, PackingListFacts, Printed
from .fonts import FontChooser
from .ink import Ink
from .ledger import MARGIN, LedgerColumn, LedgerHead, LedgerRow, draw_ledger

CARRIER_DECIDES = gettext_noop(
    "This sheet is made to copy from. The carrier's own form decides what must be declared and how;"
    " ask the carrier, also about cells and swabs, before you post the parcel."
)


NOT_KNOWN = gettext_noop("not known")


@dataclass(frozen=True)
class DeclaredLine:
    """Pieces of one name and price together: mass in grams and value for all of them, `each` the
    value of one.
    """

    name: str
    pieces: int
    mass_g: int
    each: Decimal
    value: Decimal
    origin: str
    tariff_number: str
    returned: bool


def declared_lines(lines: Iterable[PackingLineFacts], currency: str) -> list[DeclaredLine]:
    """Packing lines of one name, price, origin, tariff number and way gathered; the value of each
    is rounded to the currency's units.
    """
    gathered: dict[tuple[str, Decimal, str, str, bool], list[PackingLineFacts]] = {}
    for line in lines:
        key = (line.name, line.price, line.origin, line.tariff_number, not line.used_up)
        gathered.setdefault(key, []).append(line)
    return [
        DeclaredLine(
            name,
            sum(line.quantity for line in same),
            mass_of(same),
            round_money(price, currency),
            round_money(sum((line.quantity * price for line in same), Decimal(0)), currency),
            origin,
            tariff_number,
            returned,
        )
        for (name, price, origin, tariff_number, returned), same in gathered.items()
    ]


def parcel_mass_g(lines: Iterable[PackingLineFacts], wrapping_g: int = 0) -> int:
    """Mass of a parcel in grams: every piece, and what wraps them."""
    return wrapping_g + mass_of(lines)


def contents_statement(
    facts: PackingListFacts,
    *,
    wrapping_g: int = 0,
    back: bool = False,
    paper: str | None = None,
    fonts: FontChooser | None = None,
) -> Printed:
    """Value, mass and origin of what is in a parcel, as PDF; ``back`` is the parcel that the
    student posts, with what comes back alone.

    Raises ValueError where the practice's currency, an address's country or a part's origin is no
    valid code.
    """
    with in_language(facts.practice.locale):
        return _drawn(facts, wrapping_g, back, paper, fonts)


def _drawn(
    facts: PackingListFacts,
    wrapping_g: int,
    back: bool,
    paper: str | None,
    fonts: FontChooser | None,
) -> Printed:
    practice = facts.practice
    title = gettext("Contents statement, way back") if back else gettext("Contents statement")
    subject = f"{facts.student}, {facts.run}"
    ink = Ink.for_paper(practice, f"{title} {facts.kit_code}", subject, paper, fonts)
    packed = [line for line in facts.lines if not (back and line.used_up)]
    lines = declared_lines(packed, practice.currency)
    draw_ledger(
        ink,
        practice,
        _head(facts, title, back),
        columns=_columns(ink.width_mm - 2 * MARGIN, practice.currency),
        rows=[*(_row(line, facts) for line in lines), *_sums(lines, facts, wrapping_g)],
        notes=_notes(facts, lines, back),
        signature=gettext("Place, date and signature of the sender"),
    )
    return ink.printed()


def _head(facts: PackingListFacts, title: str, back: bool) -> LedgerHead:
    code, purpose = grouped(facts.kit_code), _purpose(facts, back)
    return LedgerHead(
        title=title,
        below_title=gettext("Kit {code}: {purpose}").format(code=code, purpose=purpose),
        blocks=_parties(facts, back),
        again=(
            gettext("{student}, kit {code}, {purpose}").format(
                student=facts.student, code=code, purpose=purpose
            ),
        ),
    )


def _purpose(facts: PackingListFacts, back: bool) -> str:
    if back:
        return gettext("rented equipment on its way back to its owner, not a sale")
    day = words.on_paper(facts.return_by, facts.practice.locale)
    return gettext("temporary, will be returned by {day}").format(day=day)


def _columns(width: float, currency: str) -> tuple[LedgerColumn, ...]:
    one, in_all = gettext("value of one, {currency}"), gettext("value in all, {currency}")
    return (
        LedgerColumn(gettext("contents"), 0, width - 128),
        LedgerColumn(gettext("tariff number"), width - 126, 22),
        LedgerColumn(gettext("pieces"), width - 103, 12, "r"),
        LedgerColumn(gettext("mass in kg"), width - 89, 16, "r"),
        LedgerColumn(one.format(currency=currency), width - 71, 22, "r"),
        LedgerColumn(in_all.format(currency=currency), width - 47, 22, "r"),
        LedgerColumn(gettext("made in"), width - 22, 22),
    )


def _row(line: DeclaredLine, facts: PackingListFacts) -> LedgerRow:
    locale, currency = facts.practice.locale, facts.practice.currency
    stays, not_known = gettext("{part} (used up, stays)"), gettext(NOT_KNOWN)
    return LedgerRow(
        (
            line.name if line.returned else stays.format(part=line.name),
            line.tariff_number or not_known,
            str(line.pieces),
            words.kilograms(line.mass_g, locale) if line.mass_g else not_known,
            money_text(line.each, currency, locale),
            money_text(line.value, currency, locale),
            country_name(line.origin, locale) if line.origin else not_known,
        )
    )


def _sums(lines: list[DeclaredLine], facts: PackingListFacts, wrapping_g: int) -> list[LedgerRow]:
    locale, currency = facts.practice.locale, facts.practice.currency
    rows = []
    if wrapping_g:
        wrapping = words.kilograms(wrapping_g, locale)
        rows.append(LedgerRow((gettext("Wrapping"), "", "", wrapping, "", "", "")))
    value = money_text(sum((line.value for line in lines), Decimal(0)), currency, locale)
    mass = words.kilograms(sum(line.mass_g for line in lines) + wrapping_g, locale)
    pieces = str(sum(line.pieces for line in lines))
    rows.append(LedgerRow((gettext("In all"), "", pieces, mass, "", value, ""), strong=True))
    return rows


def _notes(facts: PackingListFacts, lines: list[DeclaredLine], back: bool) -> list[str]:
    if back:
        purpose = gettext(
            "Returned to its owner after rent: rented training equipment, not sold. The value is"
            " the replacement value, for customs purposes only."
        )
    else:
        purpose = gettext(
            "Temporary, will be returned: rented training equipment, not sold. The value is the"
            " replacement value, for customs purposes only."
        )
    notes = [
        purpose,
        gettext(CARRIER_DECIDES),
        words.transport_caution(facts.practice.locale),
    ]
    if any(not (line.origin and line.mass_g and line.tariff_number) for line in lines):
        notes.insert(
            1,
            gettext(
                "Where a mass, an origin or a tariff number is not known, find out before you copy:"
                " forms ask for it."
            ),
        )
    return notes


def _parties(facts: PackingListFacts, back: bool) -> list[tuple[str, list[str]]]:
    """Sender and receiver, each with country, phone and e-mail, since the sheet crosses a
    border.
    """
    practice = facts.practice
    ways = [
        (practice.address, practice.phone, practice.email),
        (facts.address, facts.student_phone, facts.student_email),
    ]
    parties = []
    for head, (address, *reach) in zip(
        (gettext("Sender"), gettext("Receiver")), reversed(ways) if back else ways, strict=True
    ):
        if address:
            lines = address_lines(address, locale=practice.locale)
            if address.country:
                lines.append(country_name(address.country, practice.locale).upper())
            parties.append((head, [*lines, *filter(None, reach)]))
    return parties
