"""Wording: names in braces and nothing else; a letter's two faces say the same."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rentals.errors import Refused
from rentals.models import Message
from rentals.post.letter import WIDTH, html_body, html_page, wrapped
from rentals.post.usual_wording import USUAL
from rentals.post.values import how_far, loan_values
from rentals.post.wording import NAMES, Wording, check_wording, fill
from tests.factories import packed_loan


@pytest.mark.parametrize("occasion", Message.Occasion.values)
def test_the_usual_wording_passes_its_own_check(occasion):
    check_wording(USUAL[occasion])


@pytest.mark.django_db
@pytest.mark.parametrize("occasion", Message.Occasion.values)
def test_every_occasion_can_be_written_about_a_loan_without_a_brace_left(occasion):
    values = loan_values(packed_loan())
    assert set(values) == set(NAMES)
    said = fill(USUAL[occasion], values)
    assert "{" not in said.subject + said.text
    assert "Dear Viola Tester" in said.text
    assert "\n\n\n" not in said.text


@pytest.mark.parametrize(
    ("subject", "text", "field"),
    [
        ("Kit {kitt}", "x", "subject"),
        ("Kit", "{student.name}", "text"),
        ("Kit", "{0}", "text"),
        ("Kit", "{student!r}", "text"),
        ("Kit", "{{student}}", "text"),
        ("Kit", "{student", "text"),
        ("Kit", "%} {", "text"),
        ("Kit\nBcc: x@evil.example", "x", "subject"),
        ("  ", "x", "subject"),
        ("Kit", " \n ", "text"),
    ],
)
def test_what_cannot_be_used_is_refused_beside_its_field(subject, text, field):
    with pytest.raises(Refused) as refused:
        check_wording(Wording(subject, text))
    assert refused.value.field == field


def test_a_line_whose_names_stand_for_nothing_is_left_out():
    wording = Wording(
        "Kit", "Hello\n\nCarrier: {carrier}\nNumber: {tracking}\n\nBye {carrier}{student}"
    )
    assert fill(wording, {"student": "Ada"}).text == "Hello\n\nBye Ada"
    assert "Number: RR1" in fill(wording, {"tracking": "RR1"}).text


@given(st.text(max_size=60))
def test_a_value_is_never_looked_at_again(name):
    said = fill(Wording("Kit", "Hello {student}!"), {"student": name, "kit": "SECRET"})
    assert "SECRET" not in said.text or "SECRET" in name


def test_a_name_with_braces_stays_a_name():
    said = fill(Wording("{student}", "{student}"), {"student": "{kit} {0}", "kit": "K0001"})
    assert said == Wording("{kit} {0}", "{kit} {0}")


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


@pytest.mark.parametrize(
    ("days", "said"),
    [(0, "today"), (1, "tomorrow"), (-1, "yesterday"), (5, "in 5 days"), (-3, "3 days ago")],
)
def test_how_far_a_day_is(days, said):
    from datetime import date, timedelta

    assert how_far(date(2026, 5, 4) + timedelta(days=days), date(2026, 5, 4)) == said
