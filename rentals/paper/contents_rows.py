"""The rows of a packing list: one line of contents each, under the heading of its inner bag."""

from collections.abc import Iterator
from functools import partial

from rentals.counts import counted
from rentals.planning.contents import by_inner_bag, mass_of

from . import words
from .facts import PackingLineFacts, PackingListFacts
from .flow import Block
from .ink import GREY, HAIR, Ink
from .marks import comes_back_mark, part_drawing, tick_box, used_up_mark

LOOSE = "Loose in the box"

#: Where columns begin, millimetres from the left margin; the last two are measured from the
#: right margin.
_DRAWING, _NAME, _SERIAL, _CODE = 7.5, 17.0, 79.0, 106.0
_QUANTITY, _RETURN = 45.0, 38.0
_BACK_BOX = 4.0


def contents_blocks(
    ink: Ink, facts: PackingListFacts, margin: float, row: float
) -> Iterator[Block]:
    """The contents as blocks: a heading per inner bag and a row of ``row`` millimetres per line."""
    for bag, lines in by_inner_bag(facts.lines, LOOSE).items():
        pieces = sum(line.quantity for line in lines)
        height = row * 0.4 + 3.0
        head = partial(_bag, bag=bag, pieces=pieces, margin=margin, height=height)
        again = Block(
            height,
            partial(_bag, bag=f"{bag}, continued", pieces=pieces, margin=margin, height=height),
        )
        yield Block(height, head, keep_with_next=True)
        for line in lines:
            draw = partial(_row, line=line, margin=margin, row=row, locale=facts.practice.locale)
            yield Block(row, draw, under=(again,))
    backs = [line for line in facts.lines if not line.used_up]
    pieces = sum(line.quantity for line in backs)
    mass = mass_of(facts.lines)
    yield Block(
        6.5, lambda ink, y: _totals(ink, y, len(backs), pieces, mass, margin, facts.practice.locale)
    )


def column_heads(ink: Ink, margin: float, y: float) -> None:
    """Names of the columns, baseline at ``y``."""
    right = ink.width_mm - margin
    ink.text(margin, y, "packed", 6.5, grey=GREY)
    ink.text(margin + _NAME, y, "part", 6.5, grey=GREY)
    ink.text(margin + _SERIAL, y, "serial or batch", 6.5, grey=GREY)
    ink.text(margin + _CODE, y, "part code or expiry", 6.5, grey=GREY)
    ink.text(right - _QUANTITY + 1, y, "pieces", 6.5, grey=GREY, align="r")
    ink.text(right - _RETURN, y, "on the way back", 6.5, grey=GREY)


def _bag(ink: Ink, y: float, bag: str, pieces: int, margin: float, height: float) -> None:
    right = ink.width_mm - margin
    y += height - 1.4
    width = ink.fitted(margin, y, bag, 9, 110, bold=True)
    count = counted(pieces, "piece", "pieces")
    ink.rule(margin + width + 3, y - 1.1, right - margin - width - 3 - 18, weight=0.4)
    ink.text(right, y, count, 7, grey=GREY, align="r")


def _row(
    ink: Ink, y: float, line: PackingLineFacts, margin: float, row: float, locale: str
) -> None:
    right = ink.width_mm - margin
    middle = y + row / 2
    side = row - 1.0
    tick_box(ink, margin + 1, middle - 2)
    part_drawing(ink, margin + _DRAWING, middle - side / 2, line.part_kind, side)
    ink.fitted(margin + _NAME, middle + 1.2, line.name, 9.5, _SERIAL - _NAME - 3)
    _identity(ink, margin + _SERIAL, middle, line, locale)
    quantity = f"{line.quantity} {line.unit}".strip()
    ink.fitted(right - _QUANTITY + 1, middle + 1.2, quantity, 9.5, 12, align="r")
    if line.used_up:
        used_up_mark(ink, right - _RETURN, middle - 1.8)
        ink.text(right - _RETURN + 6, middle + 1.1, "used up, do not return", 7.5)
    else:
        comes_back_mark(ink, right - _RETURN, middle - 1.8)
        ink.text(
            right - _RETURN + 6,
            middle + 1.1,
            "cleaned, back" if line.cleaned else "comes back",
            7.5,
            bold=True,
        )
        tick_box(ink, right - _BACK_BOX, middle - 2)
    ink.rule(margin + _NAME, y + row, right - margin - _NAME, weight=0.25, grey=HAIR)


def _identity(ink: Ink, x: float, middle: float, line: PackingLineFacts, locale: str) -> None:
    """Serial and part code side by side, or batch and the day it may be used until."""
    identity = line.serial or (f"batch {line.batch}" if line.batch else "")
    ink.fitted(x, middle + 1.1, identity, 8, _CODE - _SERIAL - 2)
    if line.part_code:
        ink.code(x + _CODE - _SERIAL, middle + 1.1, line.part_code, 8)
    elif line.expires_on:
        until = f"until {words.in_a_column(line.expires_on, locale)}"
        ink.fitted(x + _CODE - _SERIAL, middle + 1.1, until, 7.5, 22, grey=GREY)


def _totals(
    ink: Ink, y: float, lines: int, pieces: int, mass: int, margin: float, locale: str
) -> None:
    right = ink.width_mm - margin
    back = counted(lines, "line comes back", "lines come back")
    ink.text(right, y + 4.2, f"{back}, {pieces} in all", 8, bold=True, align="r")
    if mass:
        ink.text(
            margin,
            y + 4.2,
            f"Mass of the contents {words.mass_on_paper(mass, locale)}",
            7,
            grey=GREY,
        )
