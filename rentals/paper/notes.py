"""What stands below the contents: care, cautions and whom to ask for the student; signatures for
the house.
"""

from collections.abc import Iterable, Iterator, Sequence
from functools import partial

from rentals.catalogues import gettext

from . import words
from .cells import Cell, cell_of, draw_cell
from .facts import PackingListFacts
from .flow import Block
from .ink import GREY, Ink
from .packing_head import kit_sentence, return_address

_SIZE = 7.4
_LEADING = 3.25
_GUTTER = 8.0
#: From so many lines on two lists stand below each other: side by side, points of many lines would
#: keep too much together.
_LONG = 40

#: A line of a list of points: the number of its point, whether the point begins here, and its text.
Line = tuple[int, bool, str]
#: A list of points with its head.
Points = tuple[str, Sequence[str]]


def student_notes(ink: Ink, facts: PackingListFacts, margin: float) -> Iterator[Block]:
    """Care of leads and cells beside the cautions."""
    care = tuple(line for line in facts.care.splitlines() if line.strip())
    care = care or words.spoken(words.CARE)
    if facts.cells:
        care = (*care, facts.cells)
    cautions = (*words.spoken(words.CAUTIONS), words.transport_caution(facts.practice.locale))
    lists = ((gettext("Care of leads and cells"), care), (gettext("Cautions"), cautions))
    yield from _lists(ink, margin, lists)


def inside_notes(ink: Ink, facts: PackingListFacts, margin: float) -> Iterator[Block]:
    """Cautions for the packing bench, and lines for who packed and who checked."""
    posting = (words.transport_caution(facts.practice.locale),)
    yield from _lists(ink, margin, (("At the bench", words.INSIDE_CAUTIONS), ("Posting", posting)))
    yield _signatures(margin)


def _lists(ink: Ink, margin: float, lists: tuple[Points, Points]) -> Iterator[Block]:
    """Two lists of points side by side, or below each other where they are long. No point is torn
    in two by the end of a page.
    """
    width = ink.width_mm - 2 * margin
    column = (width - _GUTTER) / 2
    lines = [[*_points(ink, points, column)] for _, points in lists]
    if max(map(len, lines)) <= _LONG:
        places = (margin, margin + column + _GUTTER)
        yield from _side_by_side(places, column, [head for head, _ in lists], lines)
        return
    for head, points in lists:
        yield from _side_by_side((margin,), width, [head], [[*_points(ink, points, width)]])


def _side_by_side(
    places: tuple[float, ...], column: float, heads: Sequence[str], lists: Sequence[list[Line]]
) -> Iterator[Block]:
    draw = partial(_heads, places=places, heads=heads, column=column)
    yield Block(7.5, draw, keep_with_next=True)
    rows = max(map(len, lists))
    for i in range(rows):
        row = [lines[i] if i < len(lines) else None for lines in lists]
        goes_on = any(i + 1 < len(lines) and not lines[i + 1][1] for lines in lists)
        draw = partial(_row, places=places, heads=heads, row=row)
        yield Block(_LEADING, draw, keep_with_next=goes_on)


def _heads(
    ink: Ink, y: float, places: tuple[float, ...], heads: Sequence[str], column: float
) -> None:
    for x, head in zip(places, heads, strict=True):
        ink.rule(x, y + 2, column, weight=0.5)
        with ink.element("Sect", key=head), ink.element("H2"):
            ink.text(x, y + 6, head, 8.5, bold=True)


def _points(ink: Ink, texts: Iterable[str], column: float) -> Iterator[Line]:
    for number, text in enumerate(texts):
        for i, line in enumerate(ink.wrapped(text, _SIZE, column - 3)):
            yield number, i == 0, line


def _row(
    ink: Ink,
    y: float,
    places: tuple[float, ...],
    heads: Sequence[str],
    row: Sequence[Line | None],
) -> None:
    for x, head, line in zip(places, heads, row, strict=True):
        if line:
            number, begins, text = line
            if begins:
                ink.rule(x, y + 1.9, 1.6, weight=0.7)
            with ink.element("Sect", key=head), ink.element("P", key=f"{number}"):
                ink.text(x + 3, y + 2.8, text, _SIZE)


def contact_block(ink: Ink, facts: PackingListFacts, margin: float) -> Block:
    """Whom to ask, and, framed as the return-by date is, where to send the kit back."""
    practice = facts.practice
    third = (ink.width_mm - 2 * margin) / 3
    asked = (practice.instructor or practice.name, practice.email, practice.phone)
    heads = (
        gettext("Questions, or something missing"),
        gettext("Send the kit back to"),
        gettext("This kit"),
    )
    texts = (asked, return_address(facts), (kit_sentence(facts),))
    columns = [[cell_of(ink, text, 9, third - 6, 8) for text in lines if text] for lines in texts]
    height = 10.5 + max(sum(cell.height + 0.4 for cell in cells) for cells in columns)

    def draw(ink: Ink, y: float) -> None:
        ink.rule(margin, y + 1.5, ink.width_mm - 2 * margin, weight=0.5)
        if columns[1]:
            ink.box(margin + third - 3, y + 3.2, third - 1, height - 4.2, weight=1.2)
        for i, (head, cells) in enumerate(zip(heads, columns, strict=True)):
            if cells:
                _contact_column(
                    ink, margin + i * third, y, head, cells, third - 6, is_accent=i == 1
                )

    return Block(height, draw, at_foot=True)


def _contact_column(
    ink: Ink, x: float, y: float, head: str, cells: Sequence[Cell], room: float, *, is_accent: bool
) -> None:
    with ink.element("H2"):
        ink.fitted(x, y + 6.4, head, 7, room, smallest=5, grey=GREY)
    base = y + 10.6
    with ink.element("P"):
        for cell in cells:
            base = draw_cell(ink, x, base, cell, bold=is_accent) + cell.leading + 0.4


def _signatures(margin: float) -> Block:
    def draw(ink: Ink, y: float) -> None:
        third = (ink.width_mm - 2 * margin) / 3
        for i, what in enumerate(
            ("Packed by", "Checked against the list by", "Handed to the carrier on")
        ):
            ink.rule(margin + i * third, y + 9, third - 6, weight=0.5)
            ink.text(margin + i * third, y + 12.4, what, 7, grey=GREY)

    return Block(15.0, draw, at_foot=True)
