"""All papers of a course run in one PDF: the pick sheet in front, then each parcel's packing list.

The pick sheet adds up the parcels that are still to be packed; in its list those that are packed or
sent say so.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from itertools import groupby

from rentals.counts import counted

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
) -> Printed:
    """Pick sheet and packing lists of a run; with ``inside_copy`` the lists are the copies that
    stay in the house.
    """
    loans = tuple(run.loans)
    ink = Ink(f"Packing {run.name}", paper or run.practice.paper, fonts, author=run.practice.name)
    _draw_pick_sheet(ink, run, loans)
    for loan in loans:
        ink.next_page()
        draw_packing_list(ink, loan, inside_copy=inside_copy)
    return ink.printed()


def _draw_pick_sheet(ink: Ink, run: RunFacts, loans: Sequence[PackingListFacts]) -> None:
    foot = ink.height_mm - FOOT
    to_pack = [loan for loan in loans if _done(loan) == ""]
    blocks = [
        *_stock_short(run.stock_short),
        *_shelves(ink, totals_by_shelf(to_pack), run.practice.locale),
        *_parcels(ink, loans, run.practice),
    ]
    pages = paginate(blocks, foot - TOP - _HEAD, foot - TOP - _LATER_HEAD)
    for number, page in enumerate(pages, start=1):
        if number == 1:
            _head(ink, run, len(loans), len(to_pack))
        else:
            ink.next_page()
            ink.rule(MARGIN, TOP, ink.width_mm - 2 * MARGIN, weight=1.4)
            ink.fitted(MARGIN, TOP + 7, f"Pick sheet, continued: {run.name}", 10, 150, bold=True)
        draw_page(ink, page, TOP + (_HEAD if number == 1 else _LATER_HEAD), foot)
        y = ink.height_mm - 6.5
        ink.rule(MARGIN, y - 3.6, ink.width_mm - 2 * MARGIN, weight=0.3, grey=HAIR)
        ink.fitted(MARGIN, y, run.practice.name, 6.5, 120, grey=GREY)
        ink.font_notes(MARGIN, y + 2.8)
        ink.text(
            ink.width_mm - MARGIN,
            y,
            f"Pick sheet, page {number} of {len(pages)}",
            6.5,
            grey=GREY,
            align="r",
        )


def _head(ink: Ink, run: RunFacts, parcels: int, to_pack: int) -> None:
    right = ink.width_mm - MARGIN
    locale = run.practice.locale
    ink.rule(MARGIN, TOP, right - MARGIN, weight=1.4)
    ink.text(MARGIN, TOP + 10, "Pick sheet", 20, bold=True)
    ink.fitted(MARGIN, TOP + 16.5, run.name, 10, right - MARGIN - 75)
    ink.box(right - 70, TOP + 4, 70, 13, weight=1.2)
    ink.text(right - 67, TOP + 8, "To be posted by", 7)
    ink.fitted(
        right - 67, TOP + 13.8, on_paper(run.post_by, locale, weekday=True), 11, 64, bold=True
    )
    count = counted(parcels, "parcel", "parcels")
    if to_pack < parcels:
        count += f" ({to_pack} still to pack)" if to_pack else " (all packed)"
    ink.text(
        MARGIN, TOP + 21.5, f"{count}, due back {on_paper(run.return_by, locale)}", 8.5, grey=GREY
    )


def _stock_short(short: Sequence[StockShortFacts]) -> Iterator[Block]:
    """What does not suffice, in front of what is to be fetched."""
    if short:
        yield Block(7.5, partial(_shelf, head="Not enough on the shelf"), keep_with_next=True)
    for item in short:
        yield Block(_ROW, partial(_short_item, item=item))


def _short_item(ink: Ink, y: float, item: StockShortFacts) -> None:
    right = ink.width_mm - MARGIN
    base = y + _ROW / 2 + 1.2
    ink.fitted(MARGIN + 17, base, item.name, 9.5, 78)
    ink.fitted(MARGIN + 98, base, f"shelf {item.shelf}" if item.shelf else "", 8, 30)
    ink.fitted(right, base, item.words, 11, 50, bold=True, align="r")
    ink.rule(MARGIN + 17, y + _ROW, right - MARGIN - 17, weight=0.25, grey=HAIR)


def _shelves(ink: Ink, picks: Sequence[PickLine], locale: str) -> Iterator[Block]:
    for shelf, lines in groupby(picks, key=lambda pick: pick.shelf):
        head = f"Shelf {shelf}" if shelf else WITH_THE_KIT
        yield Block(7.5, partial(_shelf, head=head), keep_with_next=True)
        again = Block(7.5, partial(_shelf, head=f"{head}, continued"))
        for line in lines:
            name = ink.wrapped(line.name, 9.5, _NAME_ROOM)
            batch = ink.wrapped(_batch_words(line, locale), 8, _BATCH_ROOM)
            height = _ROW + _LEADING * (max(len(name), len(batch), 1) - 1)
            draw = partial(_pick, line=line, name=name, batch=batch, height=height)
            yield Block(height, draw, under=(again,))


def _batch_words(line: PickLine, locale: str) -> str:
    """Batch and the day it may be used until; either may be missing."""
    until = f"until {in_a_column(line.expires_on, locale)}" if line.expires_on else ""
    return ", ".join(filter(None, (f"batch {line.batch}" if line.batch else "", until)))


def _shelf(ink: Ink, y: float, head: str) -> None:
    width = ink.fitted(MARGIN, y + 5.6, head, 9.5, 100, bold=True)
    ink.rule(MARGIN + width + 3, y + 4.5, ink.width_mm - 2 * MARGIN - width - 3, weight=0.4)


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
        pair = loans[i : i + 2]
        yield Block(6.4, partial(_pair, pair=pair, first=i, locale=practice.locale))


def _pair(ink: Ink, y: float, pair: Sequence[PackingListFacts], first: int, locale: str) -> None:
    column = (ink.width_mm - 2 * MARGIN) / 2
    for i, loan in enumerate(pair):
        x = MARGIN + i * column
        if done := _done(loan):
            ink.text(x + 1, y + 4.2, done, 6.5, grey=GREY)
        else:
            tick_box(ink, x + 1, y + 1.0)
        ink.text(x + 12, y + 4.2, str(first + i + 1), 7, grey=GREY, align="r")
        ink.code(x + 14, y + 4.2, loan.kit_code, 9)
        ink.country = loan.address.country if loan.address else ""
        ink.fitted(x + 33, y + 4.2, loan.student, 8.5, column - 33 - 21)
        ink.text(
            x + column - 3, y + 4.2, in_a_column(loan.return_by, locale), 7, grey=GREY, align="r"
        )


def _done(loan: PackingListFacts) -> str:
    """What is behind this parcel already: its parts are not to be fetched again."""
    if loan.sent_on:
        return "sent"
    return "packed" if loan.packed_on else ""


def _key(line: PackingLineFacts) -> _Key:
    return line.shelf, line.name, line.part_kind, line.unit, line.batch, line.expires_on
