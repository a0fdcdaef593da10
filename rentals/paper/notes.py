"""What stands below the contents: care, cautions and whom to ask for the student; signatures for
the house.
"""

from collections.abc import Iterable, Iterator
from functools import partial

from rentals.codes import grouped

from . import words
from .addresses import address_lines
from .facts import PackingListFacts
from .flow import Block
from .ink import GREY, Ink

_SIZE = 7.4
_LEADING = 3.25
_GUTTER = 8.0

#: A line of a list of points: whether a point begins here, and its text.
Line = tuple[bool, str]


def student_notes(ink: Ink, facts: PackingListFacts, margin: float) -> Iterator[Block]:
    """Care of leads and cells beside the cautions, then whom to ask and where to send the kit
    back.
    """
    care = tuple(line for line in facts.care.splitlines() if line.strip()) or words.CARE
    cautions = (*words.CAUTIONS, words.transport_caution(facts.practice.locale))
    yield from _columns(ink, margin, ("Care of leads and cells", care), ("Cautions", cautions))
    yield _contact(facts, margin)


def inside_notes(ink: Ink, facts: PackingListFacts, margin: float) -> Iterator[Block]:
    """Cautions for the packing bench, and lines for who packed and who checked."""
    posting = (words.transport_caution(facts.practice.locale),)
    yield from _columns(ink, margin, ("At the bench", words.INSIDE_CAUTIONS), ("Posting", posting))
    yield _signatures(margin)


def _columns(
    ink: Ink, margin: float, left: tuple[str, tuple[str, ...]], right: tuple[str, tuple[str, ...]]
) -> Iterator[Block]:
    """Two lists of points side by side, a pair of lines to a block so that they can run over the
    page.
    """
    column = (ink.width_mm - 2 * margin - _GUTTER) / 2
    places = (margin, margin + column + _GUTTER)
    heads = (left[0], right[0])
    first, second = ([*_points(ink, points, column)] for _, points in (left, right))
    yield Block(
        7.5, partial(_heads, places=places, heads=heads, column=column), keep_with_next=True
    )
    for i in range(max(len(first), len(second))):
        pair = tuple(lines[i] if i < len(lines) else None for lines in (first, second))
        yield Block(_LEADING, partial(_pair, places=places, pair=pair))


def _heads(
    ink: Ink, y: float, places: tuple[float, ...], heads: tuple[str, ...], column: float
) -> None:
    for x, head in zip(places, heads, strict=True):
        ink.rule(x, y + 2, column, weight=0.5)
        ink.text(x, y + 6, head, 8.5, bold=True)


def _points(ink: Ink, texts: Iterable[str], column: float) -> Iterator[Line]:
    for text in texts:
        for i, line in enumerate(ink.wrapped(text, _SIZE, column - 3)):
            yield i == 0, line


def _pair(ink: Ink, y: float, places: tuple[float, ...], pair: tuple[Line | None, ...]) -> None:
    for x, line in zip(places, pair, strict=True):
        if line:
            if line[0]:
                ink.rule(x, y + 1.9, 1.6, weight=0.7)
            ink.text(x + 3, y + 2.8, line[1], _SIZE)


def _contact(facts: PackingListFacts, margin: float) -> Block:
    """Whom to ask and where to send the kit back; at the foot of the last page."""
    practice = facts.practice
    ask = [
        text
        for text in (practice.instructor or practice.name, practice.email, practice.phone)
        if text
    ]
    back = _return_address(facts)
    page = (
        f"Code {grouped(facts.kit_code)}: name it when you write. The square code above is for our"
        " desk."
    )

    def draw(ink: Ink, y: float) -> None:
        third = (ink.width_mm - 2 * margin) / 3
        ink.rule(margin, y + 2, ink.width_mm - 2 * margin, weight=0.5)
        heads = ("Questions, or something missing", "Send the kit back to", "This kit")
        for i, (head, lines) in enumerate(
            zip(heads, (ask, back, ink.wrapped(page, 8.5, third - 4)), strict=True)
        ):
            x = margin + i * third
            ink.text(x, y + 5.8, head, 7, grey=GREY)
            for j, line in enumerate(lines):
                ink.fitted(x, y + 9.8 + 3.9 * j, line, 8.5, third - 4)

    return Block(8.0 + 3.9 * max(len(ask), len(back), 2), draw, at_foot=True)


def _return_address(facts: PackingListFacts) -> list[str]:
    """The practice's address as the student's post office wants it, with the country from
    abroad.
    """
    if facts.practice.address is None:
        return []
    posted_in = facts.address.country if facts.address else ""
    return address_lines(facts.practice.address, posted_in, facts.practice.locale)


def _signatures(margin: float) -> Block:
    def draw(ink: Ink, y: float) -> None:
        third = (ink.width_mm - 2 * margin) / 3
        for i, what in enumerate(
            ("Packed by", "Checked against the list by", "Handed to the carrier on")
        ):
            ink.rule(margin + i * third, y + 9, third - 6, weight=0.5)
            ink.text(margin + i * third, y + 12.4, what, 7, grey=GREY)

    return Block(15.0, draw, at_foot=True)
