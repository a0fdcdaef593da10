"""A sheet with a head, address blocks and one table: the frame of the contents statement and the
settling statement.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial

from .facts import PracticeFacts
from .flow import Block, draw_page, paginate
from .ink import GREY, HAIR, Ink

MARGIN = 18.0
TOP = 16.0
FOOT = 12.0
_ROW = 6.4
_LATER_TOP = TOP + 14


@dataclass(frozen=True)
class LedgerColumn:
    """``left`` and ``room`` in millimetres from the margin; ``align`` l or r."""

    head: str
    left: float
    room: float
    align: str = "l"


@dataclass(frozen=True)
class LedgerRow:
    """Cells of one row; a strong row has a rule above it and heavier type."""

    cells: tuple[str, ...]
    strong: bool = False


def draw_ledger(
    ink: Ink,
    practice: PracticeFacts,
    *,
    title: str,
    below_title: str,
    columns: Sequence[LedgerColumn],
    rows: Sequence[LedgerRow],
    notes: Sequence[str],
    blocks: Sequence[tuple[str, Sequence[str]]],
) -> None:
    """Draw the whole document: ``blocks`` stand side by side under the title, each a small head and
    its lines.
    """
    share = (ink.width_mm - 2 * MARGIN) / max(len(blocks), 1) - 5
    blocks = [
        (head, [part for line in lines for part in ink.wrapped(line, 9.5, share)])
        for head, lines in blocks
    ]
    head = 30.0 + 4.4 * max((len(lines) for _, lines in blocks), default=0)
    foot = ink.height_mm - FOOT
    body = [
        *(Block(_ROW, partial(_row, columns=columns, row=row)) for row in rows),
        Block(4, lambda ink, y: None),
        *_notes(ink, notes),
    ]
    pages = paginate(body, foot - TOP - head - 6, foot - _LATER_TOP - 6)
    for number, page in enumerate(pages, start=1):
        if number == 1:
            _head(ink, title, below_title, blocks)
            top = TOP + head
        else:
            ink.next_page()
            ink.rule(MARGIN, TOP, ink.width_mm - 2 * MARGIN, weight=1.4)
            ink.text(MARGIN, TOP + 6, f"{title}, continued", 10, bold=True)
            top = _LATER_TOP
        _column_heads(ink, top, columns)
        draw_page(ink, page, top + 6, foot)
        _foot(ink, practice, title, number, len(pages))


def _head(ink: Ink, title: str, below: str, blocks: Sequence[tuple[str, Sequence[str]]]) -> None:
    width = ink.width_mm - 2 * MARGIN
    ink.rule(MARGIN, TOP, width, weight=1.4)
    ink.text(MARGIN, TOP + 10, title, 20, bold=True)
    ink.fitted(MARGIN, TOP + 16, below, 9, width, grey=GREY)
    share = width / max(len(blocks), 1)
    for i, (head, lines) in enumerate(blocks):
        ink.text(MARGIN + i * share, TOP + 22, head, 7, grey=GREY)
        for j, line in enumerate(lines):
            ink.fitted(MARGIN + i * share, TOP + 26.6 + 4.4 * j, line, 9.5, share - 5)


def _column_heads(ink: Ink, y: float, columns: Sequence[LedgerColumn]) -> None:
    for column in columns:
        x = MARGIN + column.left + (column.room if column.align == "r" else 0)
        ink.fitted(
            x, y + 3.2, column.head, 6.5, column.room, smallest=5, grey=GREY, align=column.align
        )
    ink.rule(MARGIN, y + 5, ink.width_mm - 2 * MARGIN, weight=0.6)


def _row(ink: Ink, y: float, columns: Sequence[LedgerColumn], row: LedgerRow) -> None:
    if row.strong:
        ink.rule(MARGIN, y + 0.4, ink.width_mm - 2 * MARGIN, weight=0.6)
    for column, cell in zip(columns, row.cells, strict=True):
        x = MARGIN + column.left + (column.room if column.align == "r" else 0)
        ink.fitted(
            x, y + 4.4, cell, 9, column.room, smallest=5.5, bold=row.strong, align=column.align
        )
    ink.rule(MARGIN, y + _ROW, ink.width_mm - 2 * MARGIN, weight=0.25, grey=HAIR)


def _notes(ink: Ink, notes: Sequence[str]) -> list[Block]:
    blocks = []
    for note in notes:
        lines = ink.wrapped(note, 8.5, ink.width_mm - 2 * MARGIN - 20)
        blocks += [Block(4.0, partial(_note, line=line)) for line in lines]
        blocks.append(Block(1.8, lambda ink, y: None))
    return blocks


def _note(ink: Ink, y: float, line: str) -> None:
    ink.text(MARGIN, y + 3.2, line, 8.5)


def _foot(ink: Ink, practice: PracticeFacts, title: str, number: int, of: int) -> None:
    y = ink.height_mm - 6.5
    ink.rule(MARGIN, y - 3.6, ink.width_mm - 2 * MARGIN, weight=0.3, grey=HAIR)
    ink.fitted(MARGIN, y, practice.name, 6.5, 130, grey=GREY)
    ink.font_notes(MARGIN, y + 2.8)
    ink.text(ink.width_mm - MARGIN, y, f"{title}, page {number} of {of}", 6.5, grey=GREY, align="r")
