"""Pages whose texts belong to a structure, while all else is an artifact."""

import pytest

from rentals.paper.ink import Ink

from .reading import text_of
from .structure_of import marked_pieces, structure_of

pytestmark = pytest.mark.any_database


def test_what_is_drawn_aside_is_on_the_page_and_in_no_element():
    ink = Ink("A page", paper=(100.0, 50.0))
    with ink.element("H1"):
        ink.text(10, 10, "Largo")
    with ink.aside():
        ink.text(10, 20, "Page 1 of 1")
    ink.rule(10, 30, 50)
    pdf = ink.printed().pdf
    assert "Page 1 of 1" in text_of(pdf)
    assert structure_of(pdf).tags() == ["H1"]
    assert marked_pieces(pdf) == ([(0, 0)], 0)


def test_an_element_with_a_key_goes_on_over_the_page():
    ink = Ink("Two pages", paper=(100.0, 50.0))
    for _ in range(2):
        with ink.element("Table", key="parts"), ink.element("TR"):
            ink.text(10, 10, "Cell")
        ink.next_page()
    with ink.element("Table", key="more"), ink.element("TR"):
        ink.text(10, 10, "Cell")
    assert structure_of(ink.printed().pdf).tags() == [
        *("Table", "TR", "TD", "TR", "TD"),
        *("Table", "TR", "TD"),
    ]
