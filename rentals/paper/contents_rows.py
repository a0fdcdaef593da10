"""The rows of a packing list: one line of contents each, under the heading of its inner bag."""

from collections.abc import Iterable, Iterator
from functools import partial

from rentals.catalogues import gettext, gettext_noop, ngettext
from rentals.planning.contents import by_inner_bag, mass_of

from . import words
from .cells import Cell, cell_of, draw_cell_about
from .facts import PackingLineFacts, PackingListFacts
from .flow import Block
from .ink import GREY, HAIR, Ink
from .marks import comes_back_mark, part_drawing, tick_box, used_up_mark

LOOSE = gettext_noop("Loose in the box")

#: Where columns begin, millimetres from the left margin; the last two are measured from the
#: right margin.
_DRAWING, _NAME, _SERIAL, _CODE = 7.5, 17.0, 79.0, 106.0
_QUANTITY, _RETURN = 45.0, 38.0
_BACK_BOX = 4.0
_PIECES, _PIECES_LEFT = 9.0, 126.0


def contents_blocks(
    ink: Ink, facts: PackingListFacts, margin: float, row: float
) -> Iterator[Block]:
    """The contents as blocks: the names of the columns, a heading per inner bag and a row of at
    least ``row`` millimetres per line.
    """
    columns = Block(5.0, partial(_column_heads, margin=margin), keep_with_next=True)
    yield columns
    for bag, lines in by_inner_bag(facts.lines, gettext(LOOSE)).items():
        pieces = sum(line.quantity for line in lines)
        height = row * 0.4 + 3.0
        head = partial(_bag, bag=bag, pieces=pieces, margin=margin, height=height)
        again = Block(height, partial(_bag_again, bag=bag, margin=margin, height=height))
        yield Block(height, head, keep_with_next=True, under=(columns,))
        for line in lines:
            cells = _cells(ink, line, facts.practice.locale)
            draw = partial(_table_row, bag=bag, line=line, cells=cells, margin=margin, row=row)
            yield Block(_height(cells, row), draw, under=(columns, again))
    backs = [line for line in facts.lines if not line.used_up]
    pieces = sum(line.quantity for line in backs)
    mass = mass_of(facts.lines)
    yield Block(
        6.5, lambda ink, y: _totals(ink, y, len(backs), pieces, mass, margin, facts.practice.locale)
    )


def _column_heads(ink: Ink, y: float, margin: float) -> None:
    """Names of the columns; the rows below them say what they are in words as well."""
    right, base = ink.width_mm - margin, y + 3.5
    heads = (
        (margin, gettext("packed"), _NAME - 1, "l"),
        (margin + _NAME, gettext("part"), _SERIAL - _NAME - 2, "l"),
        (margin + _SERIAL, gettext("serial or batch"), _CODE - _SERIAL - 1, "l"),
        (margin + _CODE, gettext("part code or expiry"), _PIECES_LEFT - _CODE, "l"),
        (right - _QUANTITY + 1, gettext("pieces"), _PIECES, "r"),
        (right - _RETURN, gettext("on the way back"), _RETURN, "l"),
    )
    with ink.aside():
        for x, head, room, align in heads:
            ink.fitted(x, base, head, 6.5, room, smallest=4.5, grey=GREY, align=align)


def _bag(ink: Ink, y: float, bag: str, pieces: int, margin: float, height: float) -> None:
    right = ink.width_mm - margin
    y += height - 1.4
    with ink.element("H2"):
        width = ink.fitted(margin, y, bag, 9, 110, smallest=4, bold=True)
    count = ngettext("{count} piece", "{count} pieces", pieces).format(count=pieces)
    ink.rule(margin + width + 3, y - 1.1, right - margin - width - 3 - 18, weight=0.4)
    ink.text(right, y, count, 7, grey=GREY, align="r")


def _bag_again(ink: Ink, y: float, bag: str, margin: float, height: float) -> None:
    with ink.aside():
        again = gettext("{part}, continued").format(part=bag)
        ink.fitted(margin, y + height - 1.4, again, 9, 110, smallest=4, bold=True)


def _cells(ink: Ink, line: PackingLineFacts, locale: str) -> tuple[Cell, Cell, Cell]:
    """Name; serial or batch; the day it may be used until, where it has no part code."""
    identity = line.serial
    if line.batch and not identity:
        identity = gettext("batch {batch}").format(batch=line.batch)
    until = ""
    if line.expires_on and not line.part_code:
        day = words.in_a_column(line.expires_on, locale)
        until = gettext("until {day}").format(day=day)
    return (
        _name_cell(ink, line, _SERIAL - _NAME - 3),
        cell_of(ink, identity, 8, _CODE - _SERIAL - 2, 7),
        cell_of(ink, until, 7.5, 22, 5.5),
    )


def _name_cell(ink: Ink, line: PackingLineFacts, room: float) -> Cell:
    """The name, and below that of a set its leads."""
    if not line.leads:
        return cell_of(ink, line.name, 9.5, room, 8)
    return Cell(8, tuple(ink.wrapped(f"{line.name}\n{line.leads}", 8, room)))


def _height(cells: Iterable[Cell], row: float) -> float:
    return max(row, *(cell.height + 1.6 for cell in cells if len(cell.lines) > 1), 0)


def _table_row(
    ink: Ink,
    y: float,
    bag: str,
    line: PackingLineFacts,
    cells: tuple[Cell, Cell, Cell],
    margin: float,
    row: float,
) -> None:
    height = _height(cells, row)
    middle, right = y + height / 2, ink.width_mm - margin
    side = row - 1.0
    tick_box(ink, margin + 1, middle - 2)
    part_drawing(ink, margin + _DRAWING, middle - side / 2, line.part_kind, side)
    with ink.element("Table", key=bag), ink.element("TR"):
        _identity(ink, margin, middle, line, cells)
        quantity = f"{line.quantity} {line.unit}".strip()
        ink.fitted(right - _QUANTITY + 1, middle + 1.2, quantity, 9.5, 12, smallest=4, align="r")
        _way_back(ink, right, middle, line)
    ink.rule(margin + _NAME, y + height, right - margin - _NAME, weight=0.25, grey=HAIR)


def _identity(
    ink: Ink, margin: float, middle: float, line: PackingLineFacts, cells: tuple[Cell, Cell, Cell]
) -> None:
    """Name, then serial and part code side by side, or batch and the day it may be used until."""
    name, identity, until = cells
    with ink.element("TD"):
        draw_cell_about(ink, margin + _NAME, middle, name)
    with ink.element("TD"):
        draw_cell_about(ink, margin + _SERIAL, middle, identity)
    with ink.element("TD"):
        if line.part_code:
            ink.code(margin + _CODE, middle + 1.1, line.part_code, 8)
        else:
            draw_cell_about(ink, margin + _CODE, middle, until, grey=GREY)


def _way_back(ink: Ink, right: float, middle: float, line: PackingLineFacts) -> None:
    """Whether it comes back, with a mark, and the box to tick then."""
    left, room = right - _RETURN, _RETURN - 6
    if line.used_up:
        used_up_mark(ink, left, middle - 1.8)
        used_up = gettext("used up, do not return")
        ink.fitted(left + 6, middle + 1.1, used_up, 7.5, room, smallest=5)
        return
    comes_back_mark(ink, left, middle - 1.8)
    back = gettext("cleaned, back") if line.cleaned else gettext("comes back")
    room -= _BACK_BOX + 1
    ink.fitted(left + 6, middle + 1.1, back, 7.5, room, smallest=5, bold=True)
    tick_box(ink, right - _BACK_BOX, middle - 2)


def _totals(
    ink: Ink, y: float, lines: int, pieces: int, mass: int, margin: float, locale: str
) -> None:
    right = ink.width_mm - margin
    back = ngettext(
        "{lines} line comes back, {pieces} in all",
        "{lines} lines come back, {pieces} in all",
        lines,
    )
    words_of_all = back.format(lines=lines, pieces=pieces)
    ink.text(right, y + 4.2, words_of_all, 8, bold=True, align="r")
    if mass:
        weighs = gettext("Mass of the contents {mass}")
        text = weighs.format(mass=words.mass_on_paper(mass, locale))
        ink.text(margin, y + 4.2, text, 7, grey=GREY)
