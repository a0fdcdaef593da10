"""A sheet of labels as it is drawn on the screen: every label with what becomes of it."""

from dataclasses import dataclass

from .sheets import SheetLayout

_LARGEST_TYPE_MM = 9.0


@dataclass(frozen=True)
class Slot:
    """One label on the drawing of a sheet, millimetres; ``use`` is used, print or free."""

    number: int
    x: float
    y: float
    middle: tuple[float, float]
    use: str


def drawn_sheet(sheet: SheetLayout, start: int, count: int) -> list[Slot]:
    """Every label of the first sheet, where ``count`` are printed from number ``start`` on."""
    return [_slot(sheet, number, start, count) for number in range(1, sheet.count + 1)]


def sheets_needed(sheet: SheetLayout, start: int, count: int) -> int:
    """How many sheets ``count`` labels take that begin at number ``start``."""
    return -(-(start - 1 + count) // sheet.count)


def number_type_mm(sheet: SheetLayout) -> float:
    """Height of the numbers on the drawing, millimetres: they stay inside their label."""
    return round(min(_LARGEST_TYPE_MM, sheet.label[1] * 0.45), 1)


def _slot(sheet: SheetLayout, number: int, start: int, count: int) -> Slot:
    x, y = sheet.place(number - 1)
    width, height = sheet.label
    middle = (round(x + width / 2, 2), round(y + height / 2, 2))
    return Slot(number, round(x, 2), round(y, 2), middle, _use(number, start, count))


def _use(number: int, start: int, count: int) -> str:
    if number < start:
        return "used"
    return "print" if number < start + count else "free"
