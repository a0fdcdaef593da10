"""The packing list: one parcel on one page, contents by inner bag in packing order, to tick on both
journeys.
"""

from rentals.codes import qr_text

from . import words
from .contents_rows import column_heads, contents_blocks
from .facts import PackingListFacts, Printed
from .flow import Block, draw_page, paginate
from .fonts import FontChooser
from .ink import GREY, HAIR, Ink
from .notes import inside_notes, student_notes
from .qr import draw_qr

MARGIN = 15.0
TOP = 13.0
FOOT = 11.0
#: Row heights tried in turn, millimetres: the first that keeps the list on one page is taken.
ROW_HEIGHTS = (8.6, 8.0, 7.4, 6.8, 6.2)
_LATER_TOP = 27.0


def packing_list(
    facts: PackingListFacts,
    *,
    inside_copy: bool = False,
    paper: str | None = None,
    fonts: FontChooser | None = None,
) -> Printed:
    """The packing list of one loan as PDF.

    The inside copy stays with the practice: it carries the reason of an override, who gave it, the
    parcel's mass and a line for the packer's name. ``paper`` (``A4`` or ``Letter``) defaults to the
    practice's.
    """
    title = f"Packing list {facts.kit_code}"
    ink = Ink(title, paper or facts.practice.paper, fonts, author=facts.practice.name)
    draw_packing_list(ink, facts, inside_copy=inside_copy)
    return ink.printed()


def draw_packing_list(ink: Ink, facts: PackingListFacts, *, inside_copy: bool = False) -> int:
    """Draw onto the current page of an open document, which stays on the last page drawn; returns
    how many.
    """
    ink.country = facts.address.country if facts.address else ""
    top = _head_height(facts, inside_copy)
    foot = ink.height_mm - FOOT
    below = [*(inside_notes if inside_copy else student_notes)(ink, facts, MARGIN)]
    pages: list[list[Block]] = []
    for row in (
        *ROW_HEIGHTS,
        ROW_HEIGHTS[0],
    ):  # where no height makes it one page, the rows stay roomy
        pages = paginate(
            [*contents_blocks(ink, facts, MARGIN, row), *below], foot - top, foot - _LATER_TOP
        )
        if len(pages) == 1:
            break
    for number, page in enumerate(pages, start=1):
        if number == 1:
            _head(ink, facts, inside_copy)
        else:
            ink.next_page()
            _later_head(ink, facts)
        draw_page(ink, page, top if number == 1 else _LATER_TOP, foot)
        _page_foot(ink, facts, number, len(pages))
    return len(pages)


def _head_height(facts: PackingListFacts, inside_copy: bool) -> float:
    return TOP + 52.5 + (13.0 if inside_copy and facts.override_reason else 0.0)


def _head(ink: Ink, facts: PackingListFacts, inside_copy: bool) -> None:
    right = ink.width_mm - MARGIN
    room = right - MARGIN - 32
    ink.rule(MARGIN, TOP, right - MARGIN, weight=1.4)
    ink.text(MARGIN, TOP + 10, "Packing list", 20, bold=True)
    if inside_copy:
        ink.text(
            MARGIN + ink.text_width("Packing list", 20) + 6,
            TOP + 10,
            "inside copy, stays in the house",
            9,
            grey=GREY,
        )
    ink.fitted(MARGIN, TOP + 16.5, facts.kit_type, 10, room)
    ink.fitted(MARGIN, TOP + 21.2, facts.practice.name, 8.5, room, grey=GREY)
    ink.code(MARGIN, TOP + 29.6, facts.kit_code, 17)
    draw_qr(ink, right - 29, TOP + 1.5, qr_text(facts.practice.site_url, facts.kit_code), 29)
    _parcel(ink, facts, TOP + 33)
    if inside_copy and facts.override_reason:
        _override(ink, facts, TOP + 48.5)
    column_heads(ink, MARGIN, _head_height(facts, inside_copy) - 1.5)


def _parcel(ink: Ink, facts: PackingListFacts, y: float) -> None:
    """Who, which run, when sent; and the return-by date in a frame of its own."""
    locale = facts.practice.locale
    sent = facts.sent_on or facts.post_by
    course = " to ".join(
        words.on_paper(d, locale) for d in (facts.course_from, facts.course_to) if d
    )
    width = ink.width_mm - 2 * MARGIN
    due = 50.0
    cells = (
        ("For", facts.student, "", 0.31),
        ("Course run", facts.run, course, 0.40),
        ("Sent" if facts.sent_on else "To be posted by", words.on_paper(sent, locale), "", 0.29),
    )
    x = MARGIN
    for head, text, below, share in cells:
        room = (width - due - 2) * share
        ink.text(x, y + 4, head, 7, grey=GREY)
        after = _in_two_lines(ink, x, y + 9, text, room - 3)
        ink.fitted(x, after + 4, below, 7, room - 3, grey=GREY)
        x += room
    right = ink.width_mm - MARGIN
    ink.box(right - due, y, due, 13, weight=1.2)
    ink.text(right - due + 3, y + 4, "Back with us by", 7)
    ink.fitted(
        right - due + 3,
        y + 9.8,
        words.on_paper(facts.return_by, locale, weekday=True),
        11,
        due - 6,
        bold=True,
    )


def _in_two_lines(ink: Ink, x: float, y: float, text: str, room: float) -> float:
    """One line, or where that would be small print, two; returns the last baseline."""
    lines = ink.wrapped(text, 8.5, room)
    if len(lines) < 2 or ink.text_width(text, 9) <= room:
        ink.fitted(x, y, text, 10.5, room)
        return y
    ink.text(x, y - 1.4, lines[0], 8.5)
    ink.fitted(x, y + 1.9, " ".join(lines[1:]), 8.5, room)
    return y + 1.2


def _override(ink: Ink, facts: PackingListFacts, y: float) -> None:
    width = ink.width_mm - 2 * MARGIN
    ink.box(MARGIN, y, width, 11, weight=0.9, fill=0.93)
    who = f" ({facts.overridden_by})" if facts.overridden_by else ""
    ink.text(MARGIN + 3, y + 4.2, f"Packed without clearance{who}", 8.5, bold=True)
    lines = ink.wrapped(f"Reason: {facts.override_reason}", 7.5, width - 6)
    if len(lines) == 1:
        ink.text(MARGIN + 3, y + 8.6, lines[0], 7.5)
    else:
        ink.fitted(
            MARGIN + 3, y + 8.6, f"Reason: {facts.override_reason}", 7.5, width - 6, smallest=5
        )


def _later_head(ink: Ink, facts: PackingListFacts) -> None:
    right = ink.width_mm - MARGIN
    ink.rule(MARGIN, TOP, right - MARGIN, weight=1.4)
    ink.text(MARGIN, TOP + 6, "Packing list, continued", 10, bold=True)
    ink.code(right, TOP + 6, facts.kit_code, 10, align="r")
    column_heads(ink, MARGIN, _LATER_TOP - 1.5)


def _page_foot(ink: Ink, facts: PackingListFacts, number: int, of: int) -> None:
    y = ink.height_mm - 6.5
    right = ink.width_mm - MARGIN
    ink.rule(MARGIN, y - 3.6, right - MARGIN, weight=0.3, grey=HAIR)
    width = ink.fitted(MARGIN, y, facts.student, 6.5, 60, grey=GREY)
    ink.fitted(MARGIN + width + 3, y, facts.run, 6.5, 70, grey=GREY)
    ink.font_notes(MARGIN, y + 2.8)
    ink.text(right, y, f"Page {number} of {of}", 6.5, grey=GREY, align="r")
