"""Text in a room of given width that is never cut: smaller type first, then more lines."""

from dataclasses import dataclass
from typing import Any

from .ink import Ink

MM_PER_POINT = 25.4 / 72
_LEADING = 1.18


@dataclass(frozen=True)
class Cell:
    """Lines of one size, in points."""

    size: float
    lines: tuple[str, ...]

    @property
    def leading(self) -> float:
        """From one line to the next, millimetres."""
        return self.size * _LEADING * MM_PER_POINT

    @property
    def height(self) -> float:
        """Millimetres of all lines."""
        return self.leading * len(self.lines)


def cell_of(ink: Ink, text: str, size: float, room: float, smallest: float) -> Cell:
    """The text on one line of at most ``room`` millimetres, in type down to ``smallest`` points;
    what does not fit then stands on several lines of that size.
    """
    width = ink.text_width(text, size)
    if width <= room:
        return Cell(size, (text,) if text else ())
    if width * smallest / size <= room:
        return Cell(size * room / width, (text,))
    return Cell(smallest, tuple(ink.wrapped(text, smallest, room)))


def draw_cell(ink: Ink, x: float, y: float, cell: Cell, **look: Any) -> float:
    """Draw it with its first baseline at ``y``; returns the last baseline."""
    for i, line in enumerate(cell.lines):
        ink.text(x, y + i * cell.leading, line, cell.size, **look)
    return y + max(0, len(cell.lines) - 1) * cell.leading


def draw_cell_about(ink: Ink, x: float, middle: float, cell: Cell, **look: Any) -> None:
    """Draw it centred about a height."""
    first = middle - (len(cell.lines) - 1) * cell.leading / 2 + 0.36 * cell.size * MM_PER_POINT
    draw_cell(ink, x, first, cell, **look)
