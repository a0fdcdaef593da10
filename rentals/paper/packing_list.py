"""The packing list: one parcel on one page, contents by inner bag in packing order, to tick on both
journeys.
"""

from rentals.catalogues import gettext, in_language

from .contents_rows import contents_blocks
from .facts import PackingListFacts, Printed
from .flow import Block, draw_page, paginate
from .fonts import FontChooser
from .ink import GREY, HAIR, Ink
from .notes import contact_block, inside_notes, student_notes
from .packing_head import MARGIN, TOP, first_head, later_head

__all__ = ["FOOT", "MARGIN", "TOP", "draw_packing_list", "packing_list"]

FOOT = 11.0
#: Row heights tried in turn, millimetres: the first that keeps the list on one page is taken.
ROW_HEIGHTS = (8.6, 8.0, 7.4, 6.8, 6.2)


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
    practice's. The language is that of the practice's locale.
    """
    with in_language(facts.practice.locale):
        title = gettext("Packing list {code}").format(code=facts.kit_code)
        ink = Ink.for_paper(facts.practice, title, f"{facts.student}, {facts.run}", paper, fonts)
        draw_packing_list(ink, facts, inside_copy=inside_copy)
        return ink.printed()


def draw_packing_list(ink: Ink, facts: PackingListFacts, *, inside_copy: bool = False) -> int:
    """Draw onto the current page of an open document, which stays on the last page drawn; returns
    how many.

    Whom to ask and where to send the kit back stand at the foot of the first page; later pages
    repeat the address in their head.
    """
    with in_language(facts.practice.locale):
        return _drawn(ink, facts, inside_copy)


def _drawn(ink: Ink, facts: PackingListFacts, inside_copy: bool) -> int:
    ink.country = facts.address.country if facts.address else ""
    contact = None if inside_copy else contact_block(ink, facts, MARGIN)
    pages = _pages(ink, facts, inside_copy, contact)
    foot = ink.height_mm - FOOT
    with ink.element("Sect"):
        for number, page in enumerate(pages, start=1):
            if number == 1:
                top = first_head(ink, facts, inside_copy, drawn=True)
            else:
                ink.next_page()
                with ink.aside():
                    top = later_head(ink, facts, drawn=True)
            draw_page(ink, page, top, foot)
            if number == 1 and contact:
                contact.draw(ink, foot - contact.height)
            _page_foot(ink, facts, number, len(pages))
    return len(pages)


def _pages(
    ink: Ink, facts: PackingListFacts, inside_copy: bool, contact: Block | None
) -> list[list[Block]]:
    """What stands on each page, with the roomiest rows that keep the list on one; where none do,
    the rows stay roomy.
    """
    foot = ink.height_mm - FOOT
    first_room = foot - first_head(ink, facts, inside_copy, drawn=False)
    first_room -= contact.height if contact else 0
    later_room = foot - later_head(ink, facts, drawn=False)
    below = [*(inside_notes if inside_copy else student_notes)(ink, facts, MARGIN)]
    pages: list[list[Block]] = []
    for row in (*ROW_HEIGHTS, ROW_HEIGHTS[0]):
        blocks = [*contents_blocks(ink, facts, MARGIN, row), *below]
        pages = paginate(blocks, first_room, later_room)
        if len(pages) == 1:
            break
    return pages


def _page_foot(ink: Ink, facts: PackingListFacts, number: int, of: int) -> None:
    y = ink.height_mm - 6.5
    right = ink.width_mm - MARGIN
    ink.rule(MARGIN, y - 3.6, right - MARGIN, weight=0.3, grey=HAIR)
    ink.font_notes(MARGIN, y + 2.8)
    with ink.aside():
        width = ink.fitted(MARGIN, y, facts.student, 6.5, 60, grey=GREY)
        ink.fitted(MARGIN + width + 3, y, facts.run, 6.5, 70, grey=GREY)
        page = gettext("Page {number} of {count}").format(number=number, count=of)
        ink.text(right, y, page, 6.5, grey=GREY, align="r")
