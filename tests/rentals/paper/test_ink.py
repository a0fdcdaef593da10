"""Drawing in millimetres, and what could not be drawn."""

from __future__ import annotations

import pytest

from rentals.paper.ink import PAPER, Ink

from .reading import page_sizes, page_texts, picture, text_of


@pytest.mark.parametrize("paper", ["A4", "Letter", (100.0, 50.0)])
def test_a_page_has_the_size_asked_for(paper):
    ink = Ink("A page", paper=paper)
    size = PAPER[paper] if isinstance(paper, str) else (283.4646, 141.7323)
    ink.text(10, 10, "Largo")
    assert page_sizes(ink.printed().pdf) == [pytest.approx(size, abs=1e-3)]


def test_text_stands_about_its_place_and_says_its_width():
    ink = Ink("Words", paper=(100.0, 50.0))
    width = ink.text(50, 10, "Largo", 12)
    assert width == pytest.approx(ink.text_width("Largo", 12))
    assert ink.text(50, 20, "Largo", 12, align="r") == pytest.approx(width)
    page = picture(ink.printed().pdf, dpi=100)
    half = page.width // 2
    dark_right = page.crop((half, 0, page.width, page.height)).getextrema()[0]
    dark_left = page.crop((0, 0, half, page.height)).getextrema()[0]
    assert dark_right < 128 and dark_left < 128


def test_a_line_without_room_is_set_smaller_and_then_cut_with_a_sign():
    ink = Ink("Narrow", paper=(100.0, 50.0))
    full = ink.text_width("Andante", 10)
    assert ink.fitted(5, 10, "Andante", 10, full) == pytest.approx(full)
    assert ink.fitted(5, 20, "Andante", 10, full * 0.8) == pytest.approx(full * 0.8, rel=0.01)
    assert ink.fitted(5, 30, "Andante con moto " * 9, 10, 30) <= 30.01
    text = text_of(ink.printed().pdf)
    assert text.startswith("Andante Andante Andante con")
    assert "..." in text  # NFKC writes the ellipsis as three dots


def test_a_paragraph_keeps_its_line_breaks_and_goes_down_the_page():
    ink = Ink("Two lines", paper=(100.0, 50.0))
    assert ink.wrapped("one\ntwo", 10, 60) == ["one", "two"]
    below = ink.paragraph(5, 10, "one\ntwo", 10, 60, leading=1.5)
    assert below == pytest.approx(10 + 2 * 15 * 25.4 / 72)


def test_what_no_font_draws_is_named_on_the_page_and_in_the_answer():
    ink = Ink("A violin")
    ink.font_notes(10, 20)
    ink.next_page()
    ink.text(10, 10, "Mila 🎻")
    ink.font_notes(10, 20)
    printed = ink.printed()
    assert (printed.pages, printed.unprintable) == (2, ("Mila 🎻 (U+1F3BB)",))
    first, second = page_texts(printed.pdf)
    assert "crossed box" not in first
    assert "crossed box" in second
