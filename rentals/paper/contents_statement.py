"""The contents statement for a parcel that leaves the customs area: a neutral sheet to copy the
carrier's form from.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from rentals.codes import grouped
from rentals.planning.contents import mass_of
from rentals.planning.money import money_text, round_money

from . import words
from .addresses import address_lines, country_name
from .facts import PackingLineFacts, PackingListFacts, Printed
from .fonts import FontChooser
from .ink import Ink
from .ledger import MARGIN, LedgerColumn, LedgerHead, LedgerRow, draw_ledger

CARRIER_DECIDES = (
    "This sheet is made to copy from. The carrier's own form decides what must be declared and how;"
    " ask the carrier, also about cells and swabs, before you post the parcel."
)


@dataclass(frozen=True)
class DeclaredLine:
    """Pieces of one name together: mass in grams and value for all of them."""

    name: str
    pieces: int
    mass_g: int
    value: Decimal
    origin: str
    returned: bool


def declared_lines(lines: Iterable[PackingLineFacts], currency: str) -> list[DeclaredLine]:
    """Packing lines of one name, origin and way gathered; the value of each is rounded to the
    currency's units.
    """
    gathered: dict[tuple[str, str, bool], list[PackingLineFacts]] = {}
    for line in lines:
        gathered.setdefault((line.name, line.origin, not line.used_up), []).append(line)
    return [
        DeclaredLine(
            name,
            sum(line.quantity for line in same),
            mass_of(same),
            round_money(sum((line.quantity * line.price for line in same), Decimal(0)), currency),
            origin,
            returned,
        )
        for (name, origin, returned), same in gathered.items()
    ]


def parcel_mass_g(lines: Iterable[PackingLineFacts], wrapping_g: int = 0) -> int:
    """Mass of a parcel in grams: every piece, and what wraps them."""
    return wrapping_g + mass_of(lines)


def contents_statement(
    facts: PackingListFacts,
    *,
    wrapping_g: int = 0,
    paper: str | None = None,
    fonts: FontChooser | None = None,
) -> Printed:
    """Value, mass and origin of what is in a parcel, as PDF.

    Raises ValueError where the practice's currency, an address's country or a part's origin is no
    valid code.
    """
    practice = facts.practice
    ink = Ink(
        f"Contents statement {facts.kit_code}", paper or practice.paper, fonts, author=practice.name
    )
    width = ink.width_mm - 2 * MARGIN
    lines = declared_lines(facts.lines, practice.currency)
    draw_ledger(
        ink,
        practice,
        _head(facts),
        columns=_columns(width),
        rows=[*(_row(line, facts) for line in lines), *_sums(lines, facts, wrapping_g)],
        notes=_notes(facts, lines),
    )
    return ink.printed()


def _head(facts: PackingListFacts) -> LedgerHead:
    code = grouped(facts.kit_code)
    return_by = words.on_paper(facts.return_by, facts.practice.locale)
    return LedgerHead(
        title="Contents statement",
        below_title=f"Kit {code}: temporary, will be returned by {return_by}",
        blocks=_parties(facts),
        again=(f"{facts.student}, kit {code}, will be returned by {return_by}",),
    )


def _columns(width: float) -> tuple[LedgerColumn, ...]:
    return (
        LedgerColumn("contents", 0, width - 112),
        LedgerColumn("pieces", width - 110, 14, "r"),
        LedgerColumn("mass", width - 94, 20, "r"),
        LedgerColumn("value", width - 72, 26, "r"),
        LedgerColumn("made in", width - 43, 25),
        LedgerColumn("comes back", width - 16, 16),
    )


def _row(line: DeclaredLine, facts: PackingListFacts) -> LedgerRow:
    locale = facts.practice.locale
    return LedgerRow(
        (
            line.name,
            str(line.pieces),
            words.mass_on_paper(line.mass_g, locale) if line.mass_g else "not known",
            money_text(line.value, facts.practice.currency, locale),
            country_name(line.origin, locale) if line.origin else "not known",
            "yes" if line.returned else "no, used",
        )
    )


def _sums(lines: list[DeclaredLine], facts: PackingListFacts, wrapping_g: int) -> list[LedgerRow]:
    locale, currency = facts.practice.locale, facts.practice.currency
    mass = sum(line.mass_g for line in lines)
    rows = []
    if wrapping_g:
        rows.append(
            LedgerRow(("Wrapping", "", words.mass_on_paper(wrapping_g, locale), "", "", ""))
        )
    value = money_text(sum((line.value for line in lines), Decimal(0)), currency, locale)
    total_mass = words.mass_on_paper(mass + wrapping_g, locale)
    rows.append(
        LedgerRow(
            ("In all", str(sum(line.pieces for line in lines)), total_mass, value, "", ""),
            strong=True,
        )
    )
    return rows


def _notes(facts: PackingListFacts, lines: list[DeclaredLine]) -> list[str]:
    notes = [
        (
            "Temporary, will be returned: rented training equipment, not sold. The value is the"
            " replacement value, for customs purposes only."
        ),
        CARRIER_DECIDES,
        words.transport_caution(facts.practice.locale),
    ]
    if any(not line.origin or not line.mass_g for line in lines):
        notes.insert(
            1, "Where mass or origin is not known, find out before you copy: forms ask for it."
        )
    return notes


def _parties(facts: PackingListFacts) -> list[tuple[str, list[str]]]:
    """Sender and receiver, each with its country, since the sheet crosses a border."""
    parties = []
    for head, address in (("Sender", facts.practice.address), ("Receiver", facts.address)):
        if address:
            lines = address_lines(address, locale=facts.practice.locale)
            abroad = (
                [country_name(address.country, facts.practice.locale).upper()]
                if address.country
                else []
            )
            parties.append((head, [*lines, *abroad]))
    return parties
