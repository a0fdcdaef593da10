"""A letter's two faces say the same."""

from __future__ import annotations

import re

from hypothesis import given
from hypothesis import strategies as st

from rentals.post.letter import WIDTH, html_body, html_page, wrapped


@given(st.text(alphabet=st.characters(codec="utf-8", exclude_categories=["Cc"]), max_size=400))
def test_html_holds_no_mark_up_of_the_text_s_own(text):
    bare = re.sub(r'</?(p|ul|li|br)>|<a href="[^"<>]*">|</a>', "", html_body(text))
    assert "<" not in bare and ">" not in bare


def test_lists_links_and_paragraphs():
    made = html_body(
        "Hello\nyou\n\nBring:\n- lead & key\n- box\nSee https://desk.example/k?a=1&b=2."
    )
    assert made == (
        "<p>Hello<br>\nyou</p>\n<p>Bring:</p>\n<ul><li>lead &amp; key</li><li>box</li></ul>\n"
        '<p>See <a href="https://desk.example/k?a=1&amp;b=2">https://desk.example/k?a=1&amp;b=2</a>.</p>'
    )
    assert "<title>a &lt;b&gt;</title>" in html_page("a <b>", "x")


@given(st.lists(st.text(alphabet="abc äö-", min_size=1, max_size=300), max_size=8))
def test_wrapping_keeps_every_word(lines):
    text = "\n".join(lines)
    shown = wrapped(text)
    assert shown.split() == text.split()
    for line in shown.splitlines():
        assert len(line) <= WIDTH or " " not in line.strip()


def test_the_page_says_its_language_and_its_direction():
    assert '<html lang="de-AT">' in html_page("T", "Text", "de-at")
    assert '<html lang="ar" dir="rtl">' in html_page("T", "Text", "ar")
    assert '<html lang="en">' in html_page("T", "Text")
