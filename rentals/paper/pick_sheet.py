"""All papers of a course run in one PDF: the pick sheet in front, then each parcel's packing list.

The pick sheet adds up the parcels that are still to be packed; in its list those that are packed or
sent say so.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from itertools import groupby
from typing import Any

from rentals.codes import grouped
from rentals.counts import counted

from .cells import Cell, cell_of, draw_cell, draw_cell_about
from .facts import (
    PackingLineFacts,
    PackingListFacts,
    PracticeFacts,
    Printed,
    RunFacts,
    StockShortFacts,
)
from .flow import Block, draw_page, paginate
from .fonts import FontChooser
from .ink import GREY, HAIR, Ink
from .marks import part_drawing, tick_box
from .packing_list import FOOT, MARGIN, TOP, draw_packing_list
from .words import in_a_column, on_paper

WITH_THE_KIT = "With the kit"
_ROW = 7.0
_HEAD = 27.0
_LATER_HEAD = 15.0
_NAME_ROOM, _BATCH_ROOM = 78.0, 38.0
_LEADING = 4.0

_Key = tuple[str, str, str, str, str, date | None]


@dataclass(frozen=True)
class PickLine:
    """What to fetch from one shelf for all parcels together."""

    shelf: str
    name: str
    part_kind: str
    unit: str
    batch: str
    expires_on: date | None
    pieces: int
    parcels: int


def totals_by_shelf(loans: Iterable[PackingListFacts]) -> list[PickLine]:
    """Pieces per shelf, part, batch and expiry over all parcels; shelves in order, what has none
    (in the kit) last.
    """
    pieces: dict[_Key, int] = {}
    parcels: dict[_Key, set[str]] = {}
    for loan in loans:
        for line in loan.lines:
            key = _key(line)
            pieces[key] = pieces.get(key, 0) + line.quantity
            parcels.setdefault(key, set()).add(loan.kit_code)
    picks = [
        PickLine(*key, pieces=count, parcels=len(parcels[key])) for key, count in pieces.items()
    ]
    return sorted(picks, key=lambda pick: (pick.shelf == "", pick.shelf, pick.name, pick.batch))


def run_papers(
    run: RunFacts,
    *,
    inside_copy: bool = False,
    paper: str | None = None,
    fonts: FontChooser | None = None,
    each: Callable[[], object] = lambda: None,
) -> Printed:
    """Pick sheet and packing lists of a run; with ``inside_copy`` the lists are the copies that
    stay in the house. `each` is called after each list.
    """
    loans = tuple(run.loans)
    subject = counted(len(loans), "parcel", "parcels")
    ink = Ink.for_paper(run.practice, f"Packing {run.name}", subject, paper, fonts)
    ink.bookmark("Pick sheet")
    _draw_pick_sheet(ink, run, loans)
    for number, loan in enumerate(loans, start=1):
        ink.next_page()
        ink.bookmark(f"{number}. {grouped(loan.kit_code)} {loan.student}")
        draw_packing_list(ink, loan, inside_copy=inside_copy)
        each()
    return ink.printed()


def _draw_pick_sheet(ink: Ink, run: RunFacts, loans: Sequence[PackingListFacts]) -> None:
    foot = ink.height_mm - FOOT
    to_pack = [loan for loan in loans if _done(loan) == ""]
    blocks = [
        *_stock_short(ink, run.stock_short),
        *_shelves(ink, totals_by_shelf(to_pack), run.practice.locale),
        *_parcels(ink, loans, run.practice),
    ]
    head = _HEAD + _run_name(ink, run).height - 4.2
    pages = paginate(blocks, foot - TOP - head, foot - TOP - _LATER_HEAD)
    for number, page in enumerate(pages, start=1):
        if number == 1:
            _head(ink, run, len(loans), len(to_pack))
        else:
            ink.next_page()
            with ink.aside():
                _later_head(ink, run)
        draw_page(ink, page, TOP + (head if number == 1 else _LATER_HEAD), foot)
        _foot(ink, run, number, len(pages))


def _later_head(ink: Ink, run: RunFacts) -> None:
    width = ink.width_mm - 2 * MARGIN
    ink.rule(MARGIN, TOP, width, weight=1.4)
    ink.text(MARGIN, TOP + 5, "Pick sheet, continued", 9, bold=True)
    posted = f"To be posted by {on_paper(run.post_by, run.practice.locale)}"
    ink.text(MARGIN + width, TOP + 5, posted, 9, align="r")
    ink.fitted(MARGIN, TOP + 10, run.name, 9, width, smallest=4)


def _foot(ink: Ink, run: RunFacts, number: int, of: int) -> None:
    y = ink.height_mm - 6.5
    ink.rule(MARGIN, y - 3.6, ink.width_mm - 2 * MARGIN, weight=0.3, grey=HAIR)
    ink.font_notes(MARGIN, y + 2.8)
    page = f"Pick sheet, page {number} of {of}"
    with ink.aside():
        ink.fitted(MARGIN, y, run.practice.name, 6.5, 120, grey=GREY)
        ink.text(ink.width_mm - MARGIN, y, page, 6.5, grey=GREY, align="r")


def _head(ink: Ink, run: RunFacts, parcels: int, to_pack: int) -> None:
    right = ink.width_mm - MARGIN
    locale = run.practice.locale
    ink.rule(MARGIN, TOP, right - MARGIN, weight=1.4)
    with ink.element("H1"):
        ink.text(MARGIN, TOP + 10, "Pick sheet", 20, bold=True)
    name = _run_name(ink, run)
    with ink.element("P"):
        last = draw_cell(ink, MARGIN, TOP + 16.5, name)
    ink.box(right - 70, TOP + 4, 70, 13, weight=1.2)
    ink.text(right - 67, TOP + 8, "To be posted by", 7)
    ink.fitted(
        right - 67, TOP + 13.8, on_paper(run.post_by, locale, weekday=True), 11, 64, bold=True
    )
    count = counted(parcels, "parcel", "parcels")
    if to_pack < parcels:
        count += f" ({to_pack} still to pack)" if to_pack else " (all packed)"
    ink.text(
        MARGIN, last + 5, f"{count}, due back {on_paper(run.return_by, locale)}", 8.5, grey=GREY
    )


def _run_name(ink: Ink, run: RunFacts) -> Cell:
    return cell_of(ink, run.name, 10, ink.width_mm - 2 * MARGIN - 75, 8)


def _stock_short(ink: Ink, short: Sequence[StockShortFacts]) -> Iterator[Block]:
    """What does not suffice, in front of what is to be fetched."""
    if short:
        yield Block(7.5, partial(_shelf, head="Not enough on the shelf"), keep_with_next=True)
    for item in short:
        cells = (
            cell_of(ink, item.name, 9.5, 78, 8),
            cell_of(ink, f"shelf {item.shelf}" if item.shelf else "", 8, 28, 7),
            cell_of(ink, item.words, 11, 50, 8),
        )
        height = max(_ROW, *(cell.height + 2 for cell in cells))
        yield Block(height, partial(_short_item, cells=cells, height=height))


def _short_item(ink: Ink, y: float, cells: tuple[Cell, Cell, Cell], height: float) -> None:
    right, middle = ink.width_mm - MARGIN, y + height / 2
    name, shelf, lacking = cells
    with ink.element("Table", key="short"), ink.element("TR"):
        draw_cell_about(ink, MARGIN + 17, middle, name)
        draw_cell_about(ink, MARGIN + 98, middle, shelf)
        draw_cell_about(ink, right, middle, lacking, bold=True, align="r")
    ink.rule(MARGIN + 17, y + height, right - MARGIN - 17, weight=0.25, grey=HAIR)


def _shelves(ink: Ink, picks: Sequence[PickLine], locale: str) -> Iterator[Block]:
    for shelf, lines in groupby(picks, key=lambda pick: pick.shelf):
        head = f"Shelf {shelf}" if shelf else WITH_THE_KIT
        yield Block(7.5, partial(_shelf, head=head), keep_with_next=True)
        again = Block(7.5, partial(_shelf, head=f"{head}, continued"))
        for line in lines:
            name = ink.wrapped(line.name, 9.5, _NAME_ROOM)
            batch = ink.wrapped(_batch_words(line, locale), 8, _BATCH_ROOM)
            height = _ROW + _LEADING * (max(len(name), len(batch), 1) - 1)
            look: dict[str, Any] = {"name": name, "batch": batch, "height": height}
            draw = partial(_pick_row, line=line, key=head, **look)
            yield Block(height, draw, under=(again,))


def _batch_words(line: PickLine, locale: str) -> str:
    """Batch and the day it may be used until; either may be missing."""
    until = f"until {in_a_column(line.expires_on, locale)}" if line.expires_on else ""
    return ", ".join(filter(None, (f"batch {line.batch}" if line.batch else "", until)))


def _shelf(ink: Ink, y: float, head: str) -> None:
    with ink.element("H2"):
        width = ink.fitted(MARGIN, y + 5.6, head, 9.5, 100, smallest=4, bold=True)
    ink.rule(MARGIN + width + 3, y + 4.5, ink.width_mm - 2 * MARGIN - width - 3, weight=0.4)


def _pick_row(ink: Ink, y: float, key: str, **row: Any) -> None:
    with ink.element("Table", key=key), ink.element("TR"):
        _pick(ink, y, **row)


def _pick(
    ink: Ink, y: float, line: PickLine, name: Sequence[str], batch: Sequence[str], height: float
) -> None:
    right = ink.width_mm - MARGIN
    base = y + _ROW / 2 + 1.2
    tick_box(ink, MARGIN + 1, y + 1.5)
    part_drawing(ink, MARGIN + 7.5, y + 0.5, line.part_kind, _ROW - 1)
    for i, text in enumerate(name):
        ink.text(MARGIN + 17, base + _LEADING * i, text, 9.5)
    for i, text in enumerate(batch):
        ink.text(MARGIN + 98, base + _LEADING * i, text, 8)
    parcels = counted(line.parcels, "parcel", "parcels")
    ink.text(right - 22, base, f"in {parcels}", 7.5, grey=GREY, align="r")
    ink.fitted(right, base, f"{line.pieces} {line.unit}".strip(), 11, 20, bold=True, align="r")
    ink.rule(MARGIN + 17, y + height, right - MARGIN - 17, weight=0.25, grey=HAIR)


def _parcels(
    ink: Ink, loans: Sequence[PackingListFacts], practice: PracticeFacts
) -> Iterator[Block]:
    """The parcels in two columns, in the order of the lists that follow."""
    yield Block(
        9.5,
        lambda ink, y: _shelf(ink, y + 2, "Parcels, in the order of the lists"),
        keep_with_next=True,
    )
    for i in range(0, len(loans), 2):
        pair = [(loan, _student(ink, loan)) for loan in loans[i : i + 2]]
        height = max(6.4, *(name.height + 2.4 for _, name in pair), 0)
        yield Block(height, partial(_pair, pair=pair, first=i, locale=practice.locale))


def _student(ink: Ink, loan: PackingListFacts) -> Cell:
    return cell_of(ink, loan.student, 8.5, (ink.width_mm - 2 * MARGIN) / 2 - 54, 7)


def _pair(
    ink: Ink, y: float, pair: Sequence[tuple[PackingListFacts, Cell]], first: int, locale: str
) -> None:
    column = (ink.width_mm - 2 * MARGIN) / 2
    for i, (loan, student) in enumerate(pair):
        x = MARGIN + i * column
        back_by = in_a_column(loan.return_by, locale)
        with ink.element("P"):
            if done := _done(loan):
                ink.text(x + 1, y + 4.2, done, 6.5, grey=GREY)
            else:
                tick_box(ink, x + 1, y + 1.0)
            ink.text(x + 12, y + 4.2, str(first + i + 1), 7, grey=GREY, align="r")
            ink.code(x + 14, y + 4.2, loan.kit_code, 9)
            ink.country = loan.address.country if loan.address else ""
            draw_cell(ink, x + 33, y + 4.2, student)
            ink.text(x + column - 3, y + 4.2, back_by, 7, grey=GREY, align="r")


def _done(loan: PackingListFacts) -> str:
    """What is behind this parcel already: its parts are not to be fetched again."""
    if loan.sent_on:
        return "sent"
    return "packed" if loan.packed_on else ""


def _key(line: PackingLineFacts) -> _Key:
    return line.shelf, line.name, line.part_kind, line.unit, line.batch, line.expires_on
