"""Rows that are drawn once and filled say what their template says of each row."""

from __future__ import annotations

import pytest
from django.template import engines
from django.template.loader import render_to_string
from django.utils.functional import lazystr
from django.utils.safestring import mark_safe
from hypothesis import given
from hypothesis import strategies as st

from rentals.web import filled as module
from rentals.web.filled import filled

HERE = "rentals/message/_row.html"
TEXTS = ("number", "subject", "mark", "name", "address", "drafted", "error", "url", "act")


@given(st.lists(st.text(), min_size=len(TEXTS), max_size=len(TEXTS)), st.booleans(), st.booleans())
def test_a_filled_row_is_what_its_template_draws(
    words: list[str], draft: bool, has_error: bool
) -> None:
    texts = dict(zip(TEXTS, words, strict=True))
    shape = {"draft": draft, "has_error": has_error}
    assert filled(HERE, texts, **shape) == render_to_string(HERE, texts | shape)


def test_what_is_typed_is_escaped_and_what_is_drawn_is_not() -> None:
    texts = dict.fromkeys(TEXTS, "") | {"subject": '"><script>', "mark": mark_safe("<b>sent</b>")}
    texts["name"] = lazystr("<i>")
    row = filled(HERE, texts, draft=False, has_error=False)
    assert "<script>" not in row and "&quot;&gt;&lt;script&gt;" in row
    assert "<b>sent</b>" in row and "&lt;i&gt;" in row


def test_none_of_the_texts_is_kept() -> None:
    texts = dict.fromkeys(TEXTS, "") | {"name": "Ada Somebody"}
    assert "Ada Somebody" in filled(HERE, texts, draft=True, has_error=False)
    kept = module._drawn(HERE, TEXTS, (("draft", True), ("has_error", False)))
    assert "Ada" not in str(kept)
    again = filled(HERE, texts | {"name": "Ben"}, draft=True, has_error=False)
    assert "Ben" in again and "Ada" not in again


def test_a_text_that_decides_something_is_refused() -> None:
    hole = module._Hole("later")
    template = engines["django"].from_string("{% if name %}by {{ name }}{% endif %}")
    with pytest.raises(TypeError, match="part of the shape"):
        template.render({"name": hole})
