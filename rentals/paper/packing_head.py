"""The heads of a packing list's pages: what, for whom, until when and back to where. Long names and
reasons take as many lines as they need; the contents begin below.
"""

from collections.abc import Iterator
from functools import partial

from rentals.catalogues import gettext
from rentals.codes import grouped, qr_text

from . import words
from .addresses import address_lines
from .cells import Cell, cell_of, draw_cell
from .facts import PackingListFacts
from .ink import GREY, Ink
from .qr import draw_qr

MARGIN = 15.0
TOP = 13.0
_QR = 29.0
_DUE = 50.0
_DUE_HEIGHT = 13.0
_COLUMNS = (0.31, 0.40, 0.29)


def first_head(ink: Ink, facts: PackingListFacts, inside_copy: bool, *, drawn: bool) -> float:
    """The head of the first page, drawn or only measured; returns where the contents begin."""
    y = _title(ink, facts, inside_copy, drawn=drawn)
    y = _parcel(ink, facts, max(y, TOP + 33), drawn=drawn)
    if inside_copy and facts.override_reason:
        y = _override(ink, facts, y, drawn=drawn)
    return y


def later_head(ink: Ink, facts: PackingListFacts, *, drawn: bool) -> float:
    """The head of a later page, which repeats student, kit, return-by and the return address."""
    right = ink.width_mm - MARGIN
    back_by = words.on_paper(facts.return_by, facts.practice.locale, weekday=True)
    cells = [cell_of(ink, text, 9, right - MARGIN, 8) for text in _repeated(facts, back_by)]
    if drawn:
        ink.rule(MARGIN, TOP, right - MARGIN, weight=1.4)
        ink.text(MARGIN, TOP + 5.4, gettext("Packing list, continued"), 10, bold=True)
        ink.code(right, TOP + 5.4, facts.kit_code, 10, align="r")
    y = TOP + 10.4
    for i, cell in enumerate(cells):
        if drawn:
            draw_cell(ink, MARGIN, y, cell, bold=i > 0)
        y += cell.height
    return y - 1


def _repeated(facts: PackingListFacts, back_by: str) -> Iterator[str]:
    for_whom = gettext("For {student}, {run}")
    yield for_whom.format(student=facts.student, run=facts.run)
    yield gettext("Back with us by {day}").format(day=back_by)
    if back := return_address(facts):
        yield gettext("Send back to: {address}").format(address=", ".join(back))


def return_address(facts: PackingListFacts) -> list[str]:
    """The practice's address as the student's post office wants it, with the country from
    abroad.
    """
    if facts.practice.address is None:
        return []
    posted_in = facts.address.country if facts.address else ""
    return address_lines(facts.practice.address, posted_in, facts.practice.locale)


def _title(ink: Ink, facts: PackingListFacts, inside_copy: bool, *, drawn: bool) -> float:
    right = ink.width_mm - MARGIN
    room = right - MARGIN - _QR - 3
    kind = cell_of(ink, facts.kit_type, 10, room, 8)
    practice = cell_of(ink, facts.practice.name, 8.5, room, 7.5)
    below_kind = TOP + 16.5 + kind.height
    below = below_kind + practice.height
    if not drawn:
        return below + 8.4
    ink.rule(MARGIN, TOP, right - MARGIN, weight=1.4)
    with ink.element("H1"):
        title = gettext("Packing list")
        ink.text(MARGIN, TOP + 10, title, 20, bold=True)
        if inside_copy:
            beside = MARGIN + ink.text_width(title, 20) + 6
            ink.text(beside, TOP + 10, "inside copy, stays in the house", 9, grey=GREY)
    with ink.element("P"):
        draw_cell(ink, MARGIN, TOP + 16.5, kind)
    with ink.element("P"):
        draw_cell(ink, MARGIN, below_kind + 0.5, practice, grey=GREY)
    ink.code(MARGIN, below + 5.4, facts.kit_code, 17)
    draw_qr(ink, right - _QR, TOP + 1.5, qr_text(facts.practice.site_url, facts.kit_code), _QR)
    return below + 8.4


def _parcel(ink: Ink, facts: PackingListFacts, y: float, *, drawn: bool) -> float:
    """Who, which run, when sent; and the return-by date in a frame of its own."""
    locale = facts.practice.locale
    sent = facts.sent_on or facts.post_by
    sent_head = gettext("Sent") if facts.sent_on else gettext("To be posted by")
    columns = (
        (gettext("For"), facts.student, ""),
        (gettext("Course run"), facts.run, _course_days(facts)),
        (sent_head, words.on_paper(sent, locale), ""),
    )
    width = ink.width_mm - 2 * MARGIN - _DUE - 2
    x, end = MARGIN, y + _DUE_HEIGHT
    for share, column in zip(_COLUMNS, columns, strict=True):
        end = max(end, _column(ink, x, y, column, width * share - 3, drawn=drawn))
        x += width * share
    if drawn:
        _due_box(ink, facts, y)
    return end + 1.5


def _course_days(facts: PackingListFacts) -> str:
    """From when to when the course runs; one day alone where the other is not known."""
    locale = facts.practice.locale
    days = [words.on_paper(day, locale) for day in (facts.course_from, facts.course_to) if day]
    if len(days) < 2:
        return "".join(days)
    return gettext("{first} to {last}").format(first=days[0], last=days[1])


def _column(
    ink: Ink, x: float, y: float, column: tuple[str, str, str], room: float, *, drawn: bool
) -> float:
    """A small head, its text, and small print below; returns where it ends."""
    head, text, below = column
    main, small = cell_of(ink, text, 10.5, room, 8.5), cell_of(ink, below, 7, room, 6)
    end = y + 9 + (len(main.lines) - 1) * main.leading
    if drawn:
        with ink.element("P"):
            ink.fitted(x, y + 4, head, 7, room, smallest=5, grey=GREY)
            draw_cell(ink, x, y + 9 - _raised(main), main)
            draw_cell(ink, x, end + 4 - _raised(main), small, grey=GREY)
    return end + 1 + (small.height + 1.5 if small.lines else 0)


def _raised(cell: Cell) -> float:
    """Where there are several lines the first stands a little higher."""
    return 1.0 if len(cell.lines) > 1 else 0.0


def _due_box(ink: Ink, facts: PackingListFacts, y: float) -> None:
    left = ink.width_mm - MARGIN - _DUE
    back_by = words.on_paper(facts.return_by, facts.practice.locale, weekday=True)
    ink.box(left, y, _DUE, _DUE_HEIGHT, weight=1.2)
    with ink.element("P"):
        ink.fitted(left + 3, y + 4, gettext("Back with us by"), 7, _DUE - 6)
        ink.fitted(left + 3, y + 9.8, back_by, 11, _DUE - 6, bold=True)


def _override(ink: Ink, facts: PackingListFacts, y: float, *, drawn: bool) -> float:
    """Who let the kit out without clearance, and the whole reason."""
    width = ink.width_mm - 2 * MARGIN
    who = f" ({facts.overridden_by})" if facts.overridden_by else ""
    put = partial(cell_of, ink, room=width - 6)
    head = put(f"Packed without clearance{who}", 8.5, smallest=7)
    reason = put(f"Reason: {facts.override_reason}", 8, smallest=7.5)
    height = 4.2 + head.height + reason.height
    if drawn:
        ink.box(MARGIN, y + 1, width, height - 0.5, weight=0.9, fill=0.93)
        with ink.element("P"):
            last = draw_cell(ink, MARGIN + 3, y + 5.2, head, bold=True)
            draw_cell(ink, MARGIN + 3, last + 4.2, reason)
    return y + height + 1.5


def kit_sentence(facts: PackingListFacts) -> str:
    """What the code is for."""
    sentence = gettext(
        "Code {code}: name it when you write. The square code above is for our desk."
    )
    return sentence.format(code=grouped(facts.kit_code))
