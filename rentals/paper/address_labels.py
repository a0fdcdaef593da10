"""Address labels: the destination large, the sender small above it; telephone number, kit code and
mass at the foot.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from rentals.codes import grouped

from .address_block import SMALLEST, AddressBlock, address_block, leading_mm
from .addresses import address_lines, country_line
from .facts import AddressLabelFacts, Printed
from .fonts import FontChooser
from .ink import BLACK, GREY, Ink
from .labels import on_sheets
from .sheets import PARCEL_SHEET, SHEETS, SheetLayout
from .words import mass_on_paper

#: Width and height in millimetres below which a label holds no address, its sender and its foot.
LEAST_LABEL = (60.0, 35.0)
_EDGE = 4.0
#: Above and below; printers are off by a millimetre.
_MARGIN = 1.5
_INDENT = 3.0
_SENDER_SIZE, _REFERENCE_SIZE = 6.0, 6.5
#: Free space between sender, address and foot.
_GAP = 1.2


def address_labels(
    labels: Iterable[AddressLabelFacts],
    sheet: SheetLayout = PARCEL_SHEET,
    *,
    start: int = 1,
    fonts: FontChooser | None = None,
) -> Printed:
    """One label per parcel; ``start`` is the first free label of a sheet already begun.

    Raises ValueError for a country code that is none, for a start that the sheet does not have, and
    for labels too small to hold an address in readable type; a larger sheet is then named.
    """
    if problem := too_small_for_addresses(sheet):
        raise ValueError(problem)
    return on_sheets("Address labels", labels, sheet, start, _address_label, fonts)


def too_small_for_addresses(sheet: SheetLayout) -> str:
    """Why a sheet's labels hold no address, and which sheets do; empty where they do."""
    if _is_large_enough(sheet):
        return ""
    return (
        f"labels of {sheet.label[0]:g} x {sheet.label[1]:g} mm are too small for an address in"
        f" readable type; take {LEAST_LABEL[0]:g} x {LEAST_LABEL[1]:g} mm or more, such as"
        f" {_larger_than(sheet)[0].name}"
    )


@dataclass(frozen=True)
class _Layout:
    """What stands on a label: lines above and below, and the address between them, all in
    millimetres from the label's corner. ``block`` is None where the address does not fit.
    """

    inset: float
    room: float
    sender: list[str]
    top: float
    foot: list[tuple[float, str, float, str]]
    block: AddressBlock | None


def _address_label(
    ink: Ink, x: float, y: float, sheet: SheetLayout, label: AddressLabelFacts
) -> None:
    ink.country = label.to.country
    layout = _laid_out(ink, sheet, label)
    if layout.block is None:
        raise ValueError(_does_not_fit(ink, sheet, label))
    width = sheet.label[0]
    base = y + _MARGIN
    for line in layout.sender:
        base += leading_mm(_SENDER_SIZE)
        ink.text(x + _EDGE, base - 0.6, line, _SENDER_SIZE, grey=GREY)
    if layout.sender:
        ink.rule(x + _EDGE, base + 0.6, width - 2 * _EDGE, weight=0.4, grey=GREY)
    for down, text, size, align in layout.foot:
        left = x + _EDGE if align == "l" else x + width - _EDGE
        grey = GREY if size == _REFERENCE_SIZE else BLACK
        ink.text(left, y + down, text, size, grey=grey, align=align)
    layout.block.draw(ink, x + layout.inset, y + layout.top, layout.room)


def _laid_out(ink: Ink, sheet: SheetLayout, label: AddressLabelFacts) -> _Layout:
    """Sender and foot in their fixed types, the address as large as the room between them."""
    width, height = sheet.label
    sender = _sender_lines(ink, label, width - 2 * _EDGE)
    top = _MARGIN + leading_mm(_SENDER_SIZE) * len(sender) + _GAP
    foot, bottom = _foot(ink, label, width - 2 * _EDGE, height - _MARGIN)
    inset = _EDGE + (_INDENT if width >= PARCEL_SHEET.label[0] else 0)
    room = width - 2 * inset
    free = bottom - _GAP - top
    block = _block(ink, label, room, free)
    if block:
        top += (free - block.height_mm) / 4
    return _Layout(inset, room, sender, top, foot, block)


def _sender_lines(ink: Ink, label: AddressLabelFacts, room: float) -> list[str]:
    """The sender for the way back: with its country once the parcel goes abroad."""
    if label.sender is None:
        return []
    lines = address_lines(label.sender, label.to.country or label.sender.country, label.locale)
    return ink.wrapped(", ".join(lines), _SENDER_SIZE, room)


def _foot(
    ink: Ink, label: AddressLabelFacts, room: float, bottom: float
) -> tuple[list[tuple[float, str, float, str]], float]:
    """Telephone number, kit and mass above ``bottom``, beside each other where they have room:
    baseline, text, type size and alignment of each; and where they begin.
    """
    phone = f"Phone {label.phone}" if label.phone else ""
    reference = "   ".join(filter(None, (_reference(label), _mass(label))))
    rows = [
        (text, size) for text, size in ((phone, SMALLEST), (reference, _REFERENCE_SIZE)) if text
    ]
    base = bottom - 0.6
    if len(rows) == 2 and sum(ink.text_width(*row) for row in rows) + 4 <= room:
        beside = [(base, phone, SMALLEST, "l"), (base, reference, _REFERENCE_SIZE, "r")]
        return beside, bottom - leading_mm(SMALLEST)
    foot: list[tuple[float, str, float, str]] = []
    for text, size in reversed(rows):
        for part in reversed(ink.wrapped(text, size, room)):
            foot.append((bottom - 0.6, part, size, "l"))
            bottom -= leading_mm(size)
    return foot, bottom


def _block(ink: Ink, label: AddressLabelFacts, room: float, height: float) -> AddressBlock | None:
    home = label.sender.country if label.sender else ""
    lines = address_lines(label.to, home, label.locale)
    country = country_line(label.to, home, label.locale)
    return address_block(ink, lines[:-1] if country else lines, room, height, country=country)


def _does_not_fit(ink: Ink, sheet: SheetLayout, label: AddressLabelFacts) -> str:
    """What is too long, and the smallest sheet of those built in that holds it."""
    problem = (
        f"the address of {label.to.name} does not fit labels of {sheet.label[0]:g} x"
        f" {sheet.label[1]:g} mm in type of {SMALLEST:g} points, the smallest that is readable"
    )
    for larger in _larger_than(sheet):
        if _laid_out(ink, larger, label).block:
            return f"{problem}; it fits {larger.name}"
    return f"{problem}; shorten the address"


def _larger_than(sheet: SheetLayout) -> list[SheetLayout]:
    """Built-in sheets with larger labels that may hold an address, the smallest first; those of the
    same page before others.
    """
    larger = [s for s in SHEETS.values() if _is_large_enough(s) and _area(s) > _area(sheet)]
    return sorted(larger, key=lambda s: (s.page != sheet.page, _area(s)))


def _is_large_enough(sheet: SheetLayout) -> bool:
    return all(side >= least for side, least in zip(sheet.label, LEAST_LABEL, strict=True))


def _area(sheet: SheetLayout) -> float:
    return sheet.label[0] * sheet.label[1]


def _reference(label: AddressLabelFacts) -> str:
    return f"Kit {grouped(label.kit_code)}" if label.kit_code else ""


def _mass(label: AddressLabelFacts) -> str:
    return mass_on_paper(label.mass_g, label.locale) if label.mass_g else ""
