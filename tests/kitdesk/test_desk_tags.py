"""Formatting tags, state marks, scores and drawings."""

from __future__ import annotations

import datetime as dt
import re

import pytest
from django import forms
from django.template import Context, Template
from django.template.loader import render_to_string
from django.utils.safestring import mark_safe

from rentals import marks
from rentals.codes import make_code
from rentals.models import PartKind
from rentals.paper import drawings
from rentals.states import KitState
from rentals.templatetags import desk

TODAY = dt.date(2026, 11, 25)


def render(source: str, **context: object) -> str:
    return Template("{% load desk %}" + source).render(Context(context)).strip()


def text_of(html: str) -> str:
    return re.sub(r"<[^>]+>", "", html)


def test_a_code_is_grouped_with_its_check_character_apart_and_copies_as_the_code() -> None:
    code = make_code("K", 14)
    html = render("{% kit_code code '/kits/1/' %}", code=code)
    assert text_of(html) == code
    assert f'<span class="code-check">{code[-1]}</span>' in html
    assert html.startswith('<a class="code" href="/kits/1/">')


def test_a_text_that_is_no_code_stays_whole_and_is_escaped() -> None:
    assert (
        render("{% kit_code code %}", code="<A-1>")
        == '<span class="code"><span>&lt;A-1&gt;</span></span>'
    )


@pytest.mark.parametrize(
    ("amount", "currency", "shown"),
    # Decimals per currency: ISO 4217 (JPY none, KWD three), through the CLDR data of Babel.
    [
        ("149.5", "EUR", "€149.50"),
        ("1200", "JPY", "JP¥1,200"),
        ("1.5", "KWD", "KWD\xa01.500"),
        (None, "EUR", "–"),
    ],
)
def test_money_has_the_decimals_of_its_currency(
    amount: str | None, currency: str, shown: str
) -> None:
    assert render("{% money amount currency %}", amount=amount, currency=currency) == shown


@pytest.mark.django_db
def test_money_without_a_currency_takes_the_practice_s_and_asks_once(
    django_assert_max_num_queries,
) -> None:
    render("{% money 1 %}")  # the first use of an empty desk makes the row
    with django_assert_max_num_queries(1):
        assert render("{% money 1 %} {% money 2 %}") == "€1.00 €2.00"


def test_masses_and_voltages_keep_number_and_unit_together() -> None:
    assert desk.grams(850) == "850\u202fg"
    assert desk.grams(1243) == "1.24\u202fkg"
    assert desk.volts("2.834") == "2.83\u202fV"
    assert desk.volts(None) == "–"
    with pytest.raises(ValueError, match="not a number"):
        desk.grams("heavy")


@pytest.mark.parametrize(
    ("days", "words", "state"),
    [
        (-3, "overdue by 3 days", "overdue"),
        (-1, "overdue by 1 day", "overdue"),
        (0, "due today", "due_today"),
        (1, "due tomorrow", "due_soon"),
        (5, "due in 5 days", "due_soon"),
        (8, "due in 8 days", "planned"),
    ],
)
def test_due_says_how_far_off(days: int, words: str, state: str) -> None:
    day = TODAY + dt.timedelta(days)
    assert desk.due(day, TODAY) == words
    assert desk.due_state(day, TODAY) == state


@pytest.mark.parametrize(
    ("before", "words"),
    [
        (dt.timedelta(seconds=20), "just now"),
        (dt.timedelta(minutes=12), "12 minutes ago"),
        (dt.timedelta(hours=1), "1 hour ago"),
        (dt.timedelta(days=1), "yesterday"),
        (dt.timedelta(days=13), "13 days ago"),
        (dt.timedelta(days=21), "3 weeks ago"),
        (dt.timedelta(days=90), "3 months ago"),
        (dt.timedelta(days=800), "2 years ago"),
    ],
)
def test_ago_uses_the_unit_that_tells(before: dt.timedelta, words: str) -> None:
    now = dt.datetime(2026, 11, 25, 12, tzinfo=dt.UTC)
    assert desk.ago(now - before, now) == words


def test_a_state_is_a_word_a_shape_and_a_tint() -> None:
    html = render("{% state 'fails' %}")
    assert text_of(html) == "fails"
    assert 'class="state state-wrong"' in html
    assert f'd="{marks.SHAPES["cross"]}"' in html


def test_the_part_and_the_tag_draw_the_same() -> None:
    words = {"state": marks.mark_of(KitState.AWAY), "label": "with a student"}
    by_part = render_to_string("_parts/_state.html", words)
    assert by_part.strip() == render("{% state state label %}", **words)
    assert text_of(by_part).strip() == "with a student"


def test_what_is_kept_is_drawn_as_anew() -> None:
    asked = [
        ("Noise", 94.7, True),
        ("Noise", 94.7, False),
        ("Noise", None, True),
        ("A & B", 5, True),
    ]
    for name, value, small in asked * 2:
        words = {"name": name, "score": value, "small": small}
        anew = render_to_string("_parts/_score.html", words)
        assert str(desk.score(name, value, small)) == anew
    for mark in [marks.mark_of(KitState.AWAY), marks.mark_of("overdue", "5 < 6")] * 2:
        assert str(desk.state(mark)) == render_to_string("_parts/_state.html", {"state": mark})


def test_what_is_kept_for_a_safe_text_is_not_shown_for_the_same_text_typed_by_somebody() -> None:
    words, safe = "<b>1</b>", mark_safe("<b>1</b>")
    for typed, trusted in (
        (desk.kit_code(words), desk.kit_code(safe)),
        (desk.score(words, 50), desk.score(safe, 50)),
        (desk.state("late", words), desk.state("late", safe)),
    ):
        assert "&lt;b&gt;1" in typed and "<b>1" in trusted


def test_a_row_drawn_once_is_not_drawn_again(monkeypatch) -> None:
    desk.score("Continuity", 97.25, True)
    monkeypatch.setattr(desk, "render_to_string", None)
    assert "97" in desk.score("Continuity", 97.25, True)


def test_a_mark_is_drawn_with_its_own_word() -> None:
    assert (
        text_of(render("{% state mark %}", mark=marks.mark_of(KitState.CHECK))) == "back, to check"
    )


@pytest.mark.parametrize(
    ("score", "band", "number"),
    [
        (100, "passes", "100"),
        (99.6, "passes", "99.6"),
        (99.95, "passes", ">99.9"),
        (95, "passes", "95"),
        (94.7, "retest", "94.7"),
        (94.96, "retest", "94.96"),
        (50.2, "retest", "50"),
        (5.4, "retest", "5.4"),
        (5, "fails", "5"),
        (0.04, "fails", "<0.1"),
        (0, "fails", "0"),
        (None, "not_judged", ""),
    ],
)
def test_a_score_never_contradicts_its_word(score: float | None, band: str, number: str) -> None:
    mark = marks.score_mark(score)
    assert (mark.band, mark.number) == (band, number)


def test_a_score_outside_its_range_is_refused() -> None:
    with pytest.raises(ValueError, match="101"):
        marks.score_mark(101)


def test_a_score_that_is_not_judged_shows_no_number() -> None:
    html = render("{% score 'Noise floor' value %}", value=None)
    assert "not judged" in html
    assert "score-number" not in html


@pytest.mark.parametrize("kind", [*PartKind.values, "lead"])
def test_every_part_kind_has_a_drawing_of_its_own(kind: str) -> None:
    assert kind in drawings.DRAWINGS
    assert render("{% part_drawing kind %}", kind=kind).count("<path") == len(
        drawings.paths_of(kind)
    )


class _Everything(forms.Form):
    reason = forms.CharField(help_text="Stays visible.")
    sure = forms.BooleanField(label="I have looked")
    where = forms.ChoiceField(choices=[("a", "Shelf"), ("b", "Repair")], widget=forms.RadioSelect)
    photo = forms.FileField()
    note = forms.CharField(widget=forms.Textarea, required=False)
    secret = forms.CharField(widget=forms.HiddenInput)


@pytest.mark.parametrize("name", ["reason", "sure", "photo", "note"])
def test_a_field_has_a_label_and_its_notes_are_tied_to_it(name: str) -> None:
    form = _Everything({})
    field = form[name]
    html = render_to_string("_parts/_field.html", {"field": field})
    assert f'for="id_{name}"' in html
    tied = re.search(r'aria-describedby="([^"]*)"', html)
    for note in tied[1].split() if tied else []:
        assert f'id="{note}"' in html
    assert bool(tied) == bool(field.errors or field.help_text)


def test_a_group_of_choices_is_a_fieldset_with_a_legend() -> None:
    html = render_to_string("_parts/_field.html", {"field": _Everything({})["where"]})
    assert "<legend>Where" in html
    assert len(re.findall(r'\bid="id_where"', html)) == 1
    assert 'aria-describedby="id_where_error"' in html


def test_every_error_stands_in_the_linked_list() -> None:
    form = _Everything({})
    html = render_to_string("_parts/_errors.html", {"form": form})
    for name in ("reason", "sure", "photo", "where"):
        assert f'href="#id_{name}"' in html
    assert 'href="#id_secret"' not in html  # nobody can go to a field that is not shown
    assert render_to_string("_parts/_errors.html", {"form": _Everything()}).strip() == ""


def test_progress_asks_again_only_while_something_is_left() -> None:
    asked = render_to_string("_parts/_progress.html", {"done": 7, "total": 11, "poll_url": "/p/"})
    assert 'hx-get="/p/"' in asked
    assert "7 of 11" in asked
    assert "hx-get" not in render_to_string(
        "_parts/_progress.html", {"done": 11, "total": 11, "poll_url": "/p/"}
    )


def test_a_day_to_work_on_carries_its_weekday() -> None:
    assert render("{{ on|weekday }}", on=TODAY) == "Wednesday 25 November 2026"
    assert render("{{ on|weekday }}", on=None) == ""


def test_a_line_of_several_pieces_says_how_many() -> None:
    assert render("{% pieces 2 name %}", name="Leads & clips") == "2 × Leads &amp; clips"


@pytest.mark.parametrize(
    ("shown", "total", "words"),
    [(1, 1, "1 kit"), (3, 3, "3 kits"), (1, 12, "1 of 12 kits"), (0, 1, "0 of 1 kit")],
)
def test_a_filter_counts_in_the_right_words(shown: int, total: int, words: str) -> None:
    counted = {"shown": shown, "total": total, "thing": "kit", "things": "kits"}
    html = render_to_string("_parts/_filter.html", counted)
    count = html.split('id="filter-count"', 1)[1]
    assert " ".join(text_of("<p" + count).split()) == words
