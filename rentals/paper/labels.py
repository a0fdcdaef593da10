"""Labels with a QR code and the code in print: for kits, for parts, and small tags to fold round a
lead.
"""

from collections.abc import Callable, Iterable
from typing import TypeVar

from rentals.codes import grouped, qr_text

from .facts import LabelFacts, Printed
from .fonts import FontChooser
from .ink import BLACK, GREY, HAIR, Ink
from .qr import draw_qr
from .sheets import KIT_SHEET, TAG_SHEET, SheetLayout

#: How far away a phone is held, millimetres: the QR code grows with it (see ``qr.module_mm``).
KIT_DISTANCE = 260
PART_DISTANCE = 170
TAG_DISTANCE = 140
_EDGE = 1.5
#: Advance of one character of the code's fixed-width face, millimetres per point of type size.
_CODE_ADVANCE_MM = 0.6 * 25.4 / 72
#: Largest type of a code, points per millimetre of the label's height.
_CODE_SHARE = 0.55
#: Height of a row of text, millimetres per point of type size.
_ROW_MM = 1.2 * 25.4 / 72

Facts = TypeVar("Facts")
Draw = Callable[[Ink, float, float, SheetLayout, Facts], None]


def kit_labels(
    labels: Iterable[LabelFacts],
    sheet: SheetLayout = KIT_SHEET,
    *,
    start: int = 1,
    fonts: FontChooser | None = None,
) -> Printed:
    """Labels for kits; ``start`` is the first free label of a sheet already begun, counted from 1
    along the rows.

    Raises ValueError for a start that the sheet does not have, and for labels too small to hold a
    readable QR code.
    """
    return on_sheets("Kit labels", labels, sheet, start, _kit_label, fonts)


def part_labels(
    labels: Iterable[LabelFacts],
    sheet: SheetLayout = TAG_SHEET,
    *,
    start: int = 1,
    fonts: FontChooser | None = None,
) -> Printed:
    """Labels for parts with a serial; see ``kit_labels``."""
    return on_sheets("Part labels", labels, sheet, start, _part_label, fonts)


def lead_tags(
    labels: Iterable[LabelFacts],
    sheet: SheetLayout = TAG_SHEET,
    *,
    start: int = 1,
    fonts: FontChooser | None = None,
) -> Printed:
    """Tags to fold round a lead: QR code on one half, code and role on the other; see
    ``kit_labels``.
    """
    return on_sheets("Lead tags", labels, sheet, start, _lead_tag, fonts)


def on_sheets(
    title: str,
    items: Iterable[Facts],
    sheet: SheetLayout,
    start: int,
    draw: Draw[Facts],
    fonts: FontChooser | None = None,
) -> Printed:
    """One label per item on as many sheets as it takes; ``draw`` is given the label's top left
    corner in mm.
    """
    if not 1 <= start <= sheet.count:
        raise ValueError(f"the sheet has labels 1 to {sheet.count}; it cannot start at {start}")
    ink = Ink(title, sheet.page, fonts)
    for position, item in enumerate(items, start=start - 1):
        on_page = position % sheet.count
        if on_page == 0 and position >= sheet.count:
            ink.next_page()
        x, y = sheet.place(on_page)
        draw(ink, x, y, sheet, item)
    return ink.printed()


def calibration_page(sheet: SheetLayout, *, fonts: FontChooser | None = None) -> Printed:
    """The outlines of a sheet's labels and two rulers, to print on plain paper and hold against the
    sheet.
    """
    ink = Ink(f"Calibration {sheet.name}", sheet.page, fonts)
    for position in range(sheet.count):
        x, y = sheet.place(position)
        ink.box(x, y, *sheet.label, weight=0.3)
        middle_x, middle_y = x + sheet.label[0] / 2, y + sheet.label[1] / 2
        if position:  # The first label holds the instructions.
            ink.line(middle_x - 2, middle_y, middle_x + 2, middle_y, weight=0.3)
            ink.line(middle_x, middle_y - 2, middle_x, middle_y + 2, weight=0.3)
        ink.text(x + 1.2, y + 3.4, str(position + 1), 7)
    _ruler(ink, sheet)
    x, y = sheet.place(0)
    room = sheet.label[0] - 8
    instructions = (
        f"{sheet.name}. Print at 100 %, no scaling: the ruler must measure 100 mm. Hold the page"
        " against a sheet of labels and the light; if the outlines are off, enter by how many"
        " millimetres."
    )
    size = 6.0 if sheet.label[1] > 24 else 4.2
    ink.paragraph(x + 6, y + 3.4, instructions, size, room, leading=1.2)
    return ink.printed()


def _ruler(ink: Ink, sheet: SheetLayout) -> None:
    """100 mm across and down, a tick every 10 mm, near the middle of the page and away from the
    edges and middles of labels.
    """
    left, top = sheet.page[0] / 2 - 50, sheet.page[1] / 2 - 50
    across = ruler_place(sheet, 0)
    down = ruler_place(sheet, 1)
    ink.rule(left, down, 100, weight=0.6)
    ink.line(across, top, across, top + 100, weight=0.6)
    for i in range(11):
        length = 3 if i % 10 == 0 else 1.5
        ink.line(left + 10 * i, down - length, left + 10 * i, down + length, weight=0.6)
        ink.line(across - length, top + 10 * i, across + length, top + 10 * i, weight=0.6)
    ink.text(left + 101.5, down - 1.2, "100 mm", 6)


def ruler_place(sheet: SheetLayout, axis: int) -> float:
    """Where a ruler lies, millimetres: nearest to the middle of the page and a quarter of a label
    away from its edge; ``axis`` 0 is across, 1 down.
    """
    count = (sheet.columns, sheet.rows)[axis]
    edges = [sheet.margin[axis] + sheet.nudge[axis] + i * sheet.pitch[axis] for i in range(count)]
    side, middle = sheet.label[axis], sheet.page[axis] / 2
    places = [edge + side * share for edge in edges for share in (0.25, 0.75)]
    return min(places, key=lambda place: abs(place - middle))


def _kit_label(ink: Ink, x: float, y: float, sheet: SheetLayout, label: LabelFacts) -> None:
    """QR code left; code large, kit type and owner beside it."""
    width, height = sheet.label
    side = min(height - 2 * _EDGE, width * 0.55)
    draw_qr(
        ink,
        x + _EDGE,
        y + (height - side) / 2,
        qr_text(label.site_url, label.code),
        side,
        KIT_DISTANCE,
    )
    left = x + _EDGE + side
    room = width - 2 * _EDGE - side
    size = _code_size(label.code, room - 0.5, 20)
    base = y + max(height * 0.28, size * 0.3 + 2)
    ink.code(left, base, label.code, size)
    ink.rule(left, base + 2.4, room - 1, weight=0.5)
    rows = [
        (label.title, 8.0, BLACK),
        *((text, 6.5, GREY) for text in (*label.lines, label.owner) if text),
    ]
    step = min(4.2, (y + height - 1.5 - base - 2.4) / len(rows))
    for i, (text, type_size, grey) in enumerate(rows):
        type_size = min(type_size, step / 25.4 * 72 * 0.75)
        ink.fitted(
            left, base + 2.4 + step * (i + 0.9), text, type_size, room, smallest=4, grey=grey
        )


def _part_label(ink: Ink, x: float, y: float, sheet: SheetLayout, label: LabelFacts) -> None:
    """QR code left; part name, code and what tells it from others beside it, all growing with the
    label.
    """
    width, height = sheet.label
    side = min(height - 2 * _EDGE, width * 0.5)
    draw_qr(
        ink,
        x + _EDGE / 2,
        y + (height - side) / 2,
        qr_text(label.site_url, label.code),
        side,
        PART_DISTANCE,
    )
    left = x + _EDGE / 2 + side
    room = width - 1.5 * _EDGE - side
    code_size = _code_size(label.code, room, height * _CODE_SHARE)
    _text_rows(ink, (left, "l"), (y + _EDGE, height - 2 * _EDGE), room, label, code_size)


def _lead_tag(ink: Ink, x: float, y: float, sheet: SheetLayout, label: LabelFacts) -> None:
    """The fold runs down the middle, where the lead lies: nothing is printed there but two small
    marks.
    """
    width, height = sheet.label
    fold = x + width / 2
    side = min(height - _EDGE, width / 2 - 1.6)
    draw_qr(
        ink,
        fold - 1.2 - side,
        y + (height - side) / 2,
        qr_text(label.site_url, label.code),
        side,
        TAG_DISTANCE,
    )
    for end in (y + 0.8, y + height - 2.8):
        ink.line(fold, end, fold, end + 2, weight=0.4, grey=HAIR - 0.2)
    room = width / 2 - 2 * _EDGE - 1
    middle = fold + 1.2 + room / 2
    code_size = _code_size(label.code, room, height * _CODE_SHARE)
    _text_rows(ink, (middle, "c"), (y + _EDGE, height - 2 * _EDGE), room, label, code_size)


def _text_rows(
    ink: Ink,
    place: tuple[float, str],
    span: tuple[float, float],
    room: float,
    label: LabelFacts,
    code_size: float,
) -> None:
    """Title, code and small print below each other, centred in ``span`` (its top and height in
    millimetres); ``place`` is where they stand and how they are aligned.
    """
    x, align = place
    top, height = span
    small = [part for text in label.lines for part in ink.wrapped(text, _small(height), room)]
    title = ink.wrapped(label.title, _small(height) * 1.25, room)
    sizes = [*[_small(height) * 1.25] * len(title), code_size, *[_small(height)] * len(small)]
    shrink = min(1.0, height / sum(_ROW_MM * size for size in sizes))
    base = top + (height - sum(_ROW_MM * size for size in sizes) * shrink) / 2
    for i, (text, size) in enumerate(zip([*title, label.code, *small], sizes, strict=True)):
        base += _ROW_MM * size * shrink
        baseline = base - 0.1 * size * shrink
        if i == len(title):
            ink.code(x, baseline, text, size * shrink, align=align)
        else:
            bold, grey = i < len(title), BLACK if i < len(title) else GREY
            ink.text(x, baseline, text, size * shrink, bold=bold, grey=grey, align=align)


def _small(height: float) -> float:
    """Type size of the small print on a label of that height in millimetres."""
    return min(9.0, max(5.5, height * 0.3))


def _code_size(code: str, room: float, largest: float) -> float:
    """Type size in points at which the printed code is at most ``room`` millimetres wide."""
    return min(largest, room / (len(grouped(code)) * _CODE_ADVANCE_MM))
