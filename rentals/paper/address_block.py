"""The lines of an address in a given room: the largest readable type that holds all of them."""

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

from .ink import Ink

LARGEST = 14.0
#: Posts ask for letters at least 2 mm high: below this size, in points, machines and carriers no
#: longer read an address.
SMALLEST = 8.0
#: From this size on a line is rather set smaller than broken in two.
_UNBROKEN_DOWN_TO = 10.0
_STEP = 0.5
_LEADING = 1.2
#: Of a line's height, what stands above its baseline.
_ABOVE = 0.8


@dataclass(frozen=True)
class AddressBlock:
    """Lines of one size, in points; an empty line stands free. with ``from_right`` all end at
    the right edge, as scripts that run from right to left do.
    """

    lines: tuple[str, ...]
    size: float
    from_right: bool = False

    @property
    def leading_mm(self) -> float:
        """From one baseline to the next, millimetres."""
        return leading_mm(self.size)

    @property
    def height_mm(self) -> float:
        """Height of all lines."""
        return len(self.lines) * self.leading_mm

    def draw(self, ink: Ink, x: float, y: float, room: float) -> None:
        """Draw the lines below ``y`` between ``x`` and ``x + room``, all in millimetres."""
        left, align = (x + room, "r") if self.from_right else (x, "l")
        base = y + self.leading_mm * _ABOVE
        for i, line in enumerate(self.lines):
            ink.text(left, base + self.leading_mm * i, line, self.size, align=align)


def address_block(
    ink: Ink, lines: Sequence[str], room: float, height: float, *, country: str = ""
) -> AddressBlock | None:
    """The address as large as ``room`` and ``height`` millimetres allow, ``country`` set off from
    it by a free line; None where not even the smallest readable type holds it.
    """
    from_right = is_right_to_left(lines)
    for size, may_break in _tries():
        block = AddressBlock(_set(ink, lines, country, room, size), size, from_right)
        broken = len(block.lines) > _unbroken(lines, country)
        if (may_break or not broken) and block.height_mm <= height:
            return block
    return None


def is_right_to_left(lines: Sequence[str]) -> bool:
    """Whether most lines that have letters are written from right to left."""
    directions = [direction for line in lines if (direction := _direction(line))]
    return directions.count("R") * 2 > len(directions)


def leading_mm(size: float) -> float:
    """From one baseline to the next at a type size in points, millimetres."""
    return size * _LEADING / 72 * 25.4


def _tries() -> list[tuple[float, bool]]:
    """Sizes from large to small, first with every line whole, then with long ones broken."""
    sizes = [LARGEST - _STEP * i for i in range(int((LARGEST - SMALLEST) / _STEP) + 1)]
    whole = [(size, False) for size in sizes if size >= _UNBROKEN_DOWN_TO]
    return whole + [(size, True) for size in sizes if size <= _UNBROKEN_DOWN_TO]


def _set(ink: Ink, lines: Sequence[str], country: str, room: float, size: float) -> tuple[str, ...]:
    broken = [part for line in lines for part in ink.wrapped(line, size, room)]
    apart = ["", *ink.wrapped(country, size, room)] if country else []
    return (*broken, *apart)


def _unbroken(lines: Sequence[str], country: str) -> int:
    return len(lines) + (2 if country else 0)


def _direction(line: str) -> str:
    """R or L by the first letter that has a direction (UAX 9, rule P2); empty for none."""
    for character in line:
        direction = unicodedata.bidirectional(character)
        if direction in ("R", "AL"):
            return "R"
        if direction == "L":
            return "L"
    return ""
