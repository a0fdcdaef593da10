"""Address labels: the destination large, the sender small above it, kit code and mass at the
foot.
"""

from collections.abc import Sequence

from rentals.codes import grouped

from .addresses import address_lines
from .facts import Address, AddressLabelFacts, Printed
from .fonts import FontChooser
from .ink import GREY, Ink
from .labels import on_sheets
from .sheets import PARCEL_SHEET, SheetLayout
from .words import mass_on_paper

_EDGE = 5.0
_LARGEST, _SMALLEST = 14.0, 7.0


def address_labels(
    labels: Sequence[AddressLabelFacts],
    sheet: SheetLayout = PARCEL_SHEET,
    *,
    start: int = 1,
    fonts: FontChooser | None = None,
) -> Printed:
    """One label per parcel; ``start`` is the first free label of a sheet already begun.

    Raises ValueError for a country code that is none, and for a start that the sheet does not have.
    """
    return on_sheets("Address labels", labels, sheet, start, _address_label, fonts)


def _address_label(
    ink: Ink, x: float, y: float, sheet: SheetLayout, label: AddressLabelFacts
) -> None:
    width, height = sheet.label
    home = label.sender.country if label.sender else ""
    room = width - 2 * _EDGE
    top = y + 4.5
    if label.sender:
        sender = ", ".join(_sender_lines(label.sender, label.to, label.locale))
        ink.fitted(x + _EDGE, top, sender, 6.5, room, smallest=4.5, grey=GREY)
        ink.rule(x + _EDGE, top + 1.5, room, weight=0.4, grey=GREY)
    lines = address_lines(label.to, home, label.locale)
    foot = y + height - 3.5
    _address(ink, x + _EDGE * 1.6, top + 3.5, lines, room - _EDGE * 1.2, foot - top - 6.5)
    mass = mass_on_paper(label.mass_g, label.locale) if label.mass_g else ""
    ink.fitted(
        x + _EDGE,
        foot,
        "   ".join(part for part in (_reference(label), mass) if part),
        7,
        room,
        grey=GREY,
    )


def _address(
    ink: Ink, x: float, y: float, lines: Sequence[str], room: float, height: float
) -> None:
    """The lines as large as width and height allow, the country line set off from the rest."""
    step = height / max(len(lines), 1)
    size = min(_LARGEST, step / 25.4 * 72 / 1.25)
    widest = max((ink.text_width(line, size) for line in lines), default=0)
    if widest > room:
        size = max(_SMALLEST, size * room / widest)
    leading = size * 1.3 / 72 * 25.4
    for i, line in enumerate(lines, start=1):
        ink.fitted(x, y + leading * i, line, size, room, smallest=5)


def _sender_lines(sender: Address, to: Address, locale: str) -> list[str]:
    """The sender for the way back: with its country once the parcel goes abroad."""
    return address_lines(sender, to.country or sender.country, locale)


def _reference(label: AddressLabelFacts) -> str:
    return f"Kit {grouped(label.kit_code)}" if label.kit_code else ""
