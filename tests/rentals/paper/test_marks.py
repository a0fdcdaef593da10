"""Small marks on paper tell a piece that comes back from one that does not."""

from __future__ import annotations

from rentals.paper.ink import Ink
from rentals.paper.marks import comes_back_mark, part_drawing, tick_box, used_up_mark

from .reading import picture

ROOM = (12.0, 12.0)


def dark_share(draw) -> float:
    """How much of a small page is black, 0 to 1."""
    ink = Ink("A mark", paper=ROOM)
    draw(ink)
    grey = picture(ink.printed().pdf).histogram()
    return sum(grey[:128]) / sum(grey)


def test_the_mark_of_what_comes_back_is_solid_and_the_other_is_a_broken_ring():
    back = dark_share(lambda ink: comes_back_mark(ink, 3, 3, 6))
    used = dark_share(lambda ink: used_up_mark(ink, 3, 3, 6))
    assert back > used > 0


def test_a_box_to_tick_is_empty():
    side = 8.0
    assert 0 < dark_share(lambda ink: tick_box(ink, 2, 2, side)) < (side / ROOM[0]) ** 2 / 3


def test_a_drawing_is_in_the_document_once_however_often_it_is_shown():
    def length(times: int) -> int:
        ink = Ink("Drawings", paper=ROOM)
        for _ in range(times):
            part_drawing(ink, 1, 1, "lead_set", 10)
        return len(ink.printed().pdf)

    assert length(20) - length(1) < (length(1) - length(0)) / 2


def test_an_unknown_part_is_drawn_as_a_parcel():
    unknown = dark_share(lambda ink: part_drawing(ink, 1, 1, "metronome", 10))
    assert unknown == dark_share(lambda ink: part_drawing(ink, 1, 1, "other", 10)) > 0
