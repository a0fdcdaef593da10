"""A sheet with a head, address blocks and one table: the frame of the contents statement and the
settling statement. Nothing in it is cut: what is long stands on several lines.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

from rentals.catalogues import gettext

from .facts import PracticeFacts
from .flow import Block, draw_page, paginate
from .ink import GREY, HAIR, Ink
from .window import Envelope, draw_envelope, window_of

MARGIN = 18.0
TOP = 16.0
FOOT = 12.0
_ROW = 6.4
_LINE = 3.9
_NOTE_LINE = 3.3
_HEADS = 6.0
_BESIDE_WINDOW = 125.0
_TO_SIGN = 22.0


@dataclass(frozen=True)
class LedgerColumn:
    """``left`` and ``room`` in millimetres from the margin; ``align`` l or r."""

    head: str
    left: float
    room: float
    align: str = "l"


@dataclass(frozen=True)
class LedgerRow:
    """Cells of one row; a strong row has a rule above it and heavier type. A note stands in small
    print below the first cell. A row of the foot keeps with the one after it.
    """

    cells: tuple[str, ...]
    strong: bool = False
    note: str = ""
    keep_with_next: bool = False


@dataclass(frozen=True)
class LedgerHead:
    """What stands above the table: ``blocks`` are small heads, each with its lines; they stand side
    by side, or below each other beside the window of an envelope. Later pages repeat ``again``.
    """

    title: str
    below_title: str
    blocks: Sequence[tuple[str, Sequence[str]]]
    again: Sequence[str] = ()
    envelope: Envelope | None = None


def draw_ledger(
    ink: Ink,
    practice: PracticeFacts,
    head: LedgerHead,
    *,
    columns: Sequence[LedgerColumn],
    rows: Sequence[LedgerRow],
    notes: Sequence[str],
    signature: str = "",
    below: Sequence[Block] = (),
) -> None:
    """Draw the whole document; a ``signature`` is a line to sign on with these words below it, and
    what stands ``below`` comes last.
    """
    foot = ink.height_mm - FOOT
    first_top = _first_head(ink, head, drawn=False)
    later_top = _later_head(ink, head, drawn=False)
    body = [*_table(ink, columns, rows), Block(4, lambda ink, y: None), *_notes(ink, notes)]
    if signature:
        body.append(Block(_TO_SIGN, partial(_signature, words=signature)))
    body += below
    pages = paginate(body, foot - first_top, foot - later_top)
    for number, page in enumerate(pages, start=1):
        if number == 1:
            top = _first_head(ink, head, drawn=True)
        else:
            ink.next_page()
            with ink.aside():
                top = _later_head(ink, head, drawn=True)
        draw_page(ink, page, top, foot)
        _foot(ink, practice, head.title, number, len(pages))


def _first_head(ink: Ink, head: LedgerHead, *, drawn: bool) -> float:
    """The head of the first page, drawn or only measured; returns where the table begins."""
    width = ink.width_mm - 2 * MARGIN
    below = ink.wrapped(head.below_title, 9, width)
    y = TOP + 16 + 4.0 * len(below)
    if drawn:
        ink.rule(MARGIN, TOP, width, weight=1.4)
        with ink.element("H1"):
            ink.text(MARGIN, TOP + 10, head.title, 20, bold=True)
        with ink.element("P"):
            ink.paragraph(MARGIN, TOP + 16, head.below_title, 9, width, grey=GREY)
    if head.envelope is None:
        return _blocks_in_a_row(ink, head, y + 2, drawn=drawn)
    if drawn:
        draw_envelope(ink, head.envelope)
    return max(window_of(ink).body_top, _blocks_below(ink, head, max(50.0, y), drawn=drawn))


def _blocks_in_a_row(ink: Ink, head: LedgerHead, y: float, *, drawn: bool) -> float:
    share = (ink.width_mm - 2 * MARGIN) / max(len(head.blocks), 1)
    ends = [
        _block(ink, MARGIN + i * share, y, block, share - 5, drawn=drawn)
        for i, block in enumerate(head.blocks)
    ]
    return max(ends, default=y) + 4


def _blocks_below(ink: Ink, head: LedgerHead, y: float, *, drawn: bool) -> float:
    room = ink.width_mm - MARGIN - _BESIDE_WINDOW
    for block in head.blocks:
        y = _block(ink, _BESIDE_WINDOW, y, block, room, drawn=drawn) + 2
    return y + 4


def _block(
    ink: Ink, x: float, y: float, block: tuple[str, Sequence[str]], room: float, *, drawn: bool
) -> float:
    """A small head with its lines, whole; returns where it ends."""
    head, texts = block
    lines = [part for text in texts for part in ink.wrapped(text, 9.5, room)]
    if drawn:
        with ink.element("H2"):
            ink.text(x, y, head, 7, grey=GREY)
        with ink.element("P"):
            for i, line in enumerate(lines):
                ink.text(x, y + 4.6 + 4.4 * i, line, 9.5)
    return y + 4.6 + 4.4 * len(lines)


def _later_head(ink: Ink, head: LedgerHead, *, drawn: bool) -> float:
    """The head of a later page, with what it repeats; returns where the table goes on."""
    width = ink.width_mm - 2 * MARGIN
    lines = [part for text in head.again for part in ink.wrapped(text, 8.5, width)]
    if drawn:
        ink.rule(MARGIN, TOP, width, weight=1.4)
        again = gettext("{part}, continued").format(part=head.title)
        ink.text(MARGIN, TOP + 6, again, 10, bold=True)
        for i, line in enumerate(lines):
            ink.text(MARGIN, TOP + 10.6 + 3.9 * i, line, 8.5)
    return TOP + 12 + 3.9 * len(lines)


def _table(ink: Ink, columns: Sequence[LedgerColumn], rows: Sequence[LedgerRow]) -> Iterator[Block]:
    """The heads of the columns, which stand on every page that has a row, then the rows."""
    heads = Block(_HEADS, partial(_column_heads, columns=columns), keep_with_next=True)
    yield heads
    for row in rows:
        draw = partial(_row, columns=columns, row=row)
        yield Block(_row_height(ink, columns, row), draw, row.keep_with_next, under=(heads,))


def _column_heads(ink: Ink, y: float, columns: Sequence[LedgerColumn]) -> None:
    with ink.element("Table", key="ledger"), ink.element("TR"):
        for column in columns:
            x = MARGIN + column.left + (column.room if column.align == "r" else 0)
            look: dict[str, Any] = {"smallest": 5, "grey": GREY, "align": column.align}
            with ink.element("TH"):
                ink.fitted(x, y + 3.2, column.head, 6.5, column.room, **look)
    ink.rule(MARGIN, y + 5, ink.width_mm - 2 * MARGIN, weight=0.6)


def _cells(
    ink: Ink, columns: Sequence[LedgerColumn], row: LedgerRow
) -> Iterator[tuple[LedgerColumn, list[str]]]:
    """The lines of each cell. A number stays on one line, in smaller type where it must; words go
    on below, after they have used the empty cells beside them.
    """
    for i, (column, cell) in enumerate(zip(columns, row.cells, strict=True)):
        if column.align == "r" or not cell:
            yield column, [cell]
            continue
        filled = [
            later.left
            for later, text in zip(columns[i + 1 :], row.cells[i + 1 :], strict=True)
            if text
        ]
        room = filled[0] - column.left - 2 if filled else column.room
        yield column, ink.wrapped(cell, 9, max(room, column.room))


def _row_height(ink: Ink, columns: Sequence[LedgerColumn], row: LedgerRow) -> float:
    lines = [len(lines) for _, lines in _cells(ink, columns, row)]
    notes = ink.wrapped(row.note, 7.5, columns[0].room) if row.note else []
    tallest = max(max(lines) * _LINE, lines[0] * _LINE + len(notes) * _NOTE_LINE)
    return _ROW - _LINE + tallest


def _row(ink: Ink, y: float, columns: Sequence[LedgerColumn], row: LedgerRow) -> None:
    if row.strong:
        ink.rule(MARGIN, y + 0.4, ink.width_mm - 2 * MARGIN, weight=0.6)
    with ink.element("Table", key="ledger"), ink.element("TR"):
        for column, lines in _cells(ink, columns, row):
            with ink.element("TD"):
                _cell(ink, y, column, row, lines)
    bottom = y + _row_height(ink, columns, row)
    ink.rule(MARGIN, bottom, ink.width_mm - 2 * MARGIN, weight=0.25, grey=HAIR)


def _cell(ink: Ink, y: float, column: LedgerColumn, row: LedgerRow, lines: Sequence[str]) -> None:
    x = MARGIN + column.left
    base = y + 4.4
    for line in lines:
        if column.align == "r":
            right, look = x + column.room, {"bold": row.strong, "align": "r"}
            ink.fitted(right, base, line, 9, column.room, smallest=5.5, **look)
        else:
            ink.text(x, base, line, 9, bold=row.strong)
        base += _LINE
    if column.left == 0 and row.note:
        below = base - _LINE + _NOTE_LINE
        ink.paragraph(x, below, row.note, 7.5, column.room, leading=1.247, grey=GREY)


def _notes(ink: Ink, notes: Sequence[str]) -> Iterator[Block]:
    """The notes below the table; none is torn in two."""
    for number, note in enumerate(notes):
        lines = ink.wrapped(note, 8.5, ink.width_mm - 2 * MARGIN - 20)
        for i, line in enumerate(lines, start=1):
            yield Block(
                4.0, partial(_note, line=line, key=f"note {number}"), keep_with_next=i < len(lines)
            )
        yield Block(1.8, lambda ink, y: None)


def _note(ink: Ink, y: float, line: str, key: str) -> None:
    with ink.element("P", key=key):
        ink.text(MARGIN, y + 3.2, line, 8.5)


def _signature(ink: Ink, y: float, words: str) -> None:
    ink.rule(MARGIN, y + _TO_SIGN - 6, 90, weight=0.6)
    ink.text(MARGIN, y + _TO_SIGN - 2, words, 8, grey=GREY)


def _foot(ink: Ink, practice: PracticeFacts, title: str, number: int, of: int) -> None:
    y = ink.height_mm - 6.5
    ink.rule(MARGIN, y - 3.6, ink.width_mm - 2 * MARGIN, weight=0.3, grey=HAIR)
    ink.font_notes(MARGIN, y + 2.8)
    page = gettext("{title}, page {number} of {count}")
    page = page.format(title=title, number=number, count=of)
    with ink.aside():
        ink.fitted(MARGIN, y, practice.name, 6.5, 130, grey=GREY)
        ink.text(ink.width_mm - MARGIN, y, page, 6.5, grey=GREY, align="r")
