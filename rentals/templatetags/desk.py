"""Formatting for the templates: codes, money, masses, voltages, states, scores, drawings, days. No
rules here.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from decimal import Decimal, InvalidOperation
from functools import lru_cache
from html import escape
from typing import Any, cast

from babel import Locale
from babel.numbers import format_decimal
from django import template
from django.forms import BaseForm
from django.template import Context
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from rentals import codes, dates, due_dates, marks
from rentals.catalogues import gettext, spoken_locale
from rentals.counts import counted, pieces
from rentals.languages import known_locale
from rentals.models import Practice, Student
from rentals.paper import drawings
from rentals.planning.money import money_text
from rentals.web.changed_meanwhile import is_edit, marks_of
from rentals.web.lines_meanwhile import values_shown
from rentals.web.ticked import was_ticked

register = template.Library()

NARROW_SPACE = "\u202f"  # no-break: a number and its unit stay together
NOTHING = "–"
#: What is drawn from its arguments alone is drawn once; so many of each kind are kept. By the types
#: of the arguments too: a text that is marked as safe is equal to the same text that is not.
kept = lru_cache(maxsize=4000, typed=True)


@register.simple_tag
def state_mark(state: marks.Mark | str, label: str = "") -> marks.Mark:
    """The mark (word, tone, path) of a state, for the part that draws it."""
    if not isinstance(state, marks.Mark):
        return marks.mark_of(state, label or "")
    return replace(state, word=label) if label else state


@register.simple_tag
def state(state: marks.Mark | str, label: str = "") -> SafeString:
    """A state as word, shape and tint: ``{% state kit.mark %}`` or, for a sign, ``{% state
    "due_soon" "due in 5 days" %}``.
    """
    mark = state_mark(state, label)
    return _drawn_state(mark.word, mark.tone, mark.shape)


@kept
def _drawn_state(word: str, tone: str, shape: str) -> SafeString:
    return render_to_string("_parts/_state.html", {"state": marks.Mark(word, tone, shape)})


@register.simple_tag
def score_mark(score: float | None) -> marks.ScoreMark:
    """Band, word, number and bar width of a score (None: not judged)."""
    return marks.score_mark(None if score in (None, "") else float(score))


@register.simple_tag
@kept
def score(name: str, value: float | None, small: bool = False) -> SafeString:
    """A score bar: ``{% score "Noise floor" bench.noise %}``, ``small=True`` for a line in a
    table.
    """
    words = {"name": name, "score": value, "small": small}
    return render_to_string("_parts/_score.html", words)


@register.simple_tag
@kept
def kit_code(code: str, url: str = "") -> SafeString:
    """A kit, part or lead code in groups with its check character apart, linked when ``url`` is
    given.

    The groups are set apart by the stylesheet and not by spaces, so that a copied code is the code.
    A text that is no code of ours (an older label, a serial) stays in one piece.
    """
    text = str(code or "")
    if not text:
        return format_html("{}", NOTHING)
    parts = (
        codes.grouped(text).split(" ")
        if codes.is_code(text) and codes.parse_code(text) == text
        else []
    )
    if parts:
        inner = format_html_join("", "<span>{}</span>", ((part,) for part in parts[:-1]))
        inner = format_html('{}<span class="code-check">{}</span>', inner, parts[-1])
    else:
        inner = format_html("<span>{}</span>", text)
    if url:
        return format_html('<a class="code" href="{}">{}</a>', url, inner)
    return format_html('<span class="code">{}</span>', inner)


@register.simple_tag
def tick_row(code: str, title: str, detail: str, kind: str, checked: bool) -> SafeString:
    """A line of a checklist in which a kit or part is ticked by its code; `kind` is that of a part,
    which is drawn. What the lines of parts and kits say names nobody, so it is kept.
    """
    draw = _tick_row if kind or not detail else _tick_row.__wrapped__
    return draw(code, title, detail, kind, checked)


@kept
def _tick_row(code: str, title: str, detail: str, kind: str, checked: bool) -> SafeString:
    words: dict[str, object] = {"id": f"tick-{code}", "name": "code", "value": code, "code": code}
    words |= {"title": title, "detail": detail, "kind": kind, "checked": checked}
    return render_to_string("_parts/_checklist_row.html", words)


@register.simple_tag
def shown_marks(form: Any) -> str:
    """What a form that changes a row says of the values it is shown with; empty for others."""
    return marks_of(form) if is_edit(form) else ""


@register.simple_tag
def line_shown(form: BaseForm) -> str:
    """What one of many lines says of the values it is shown with."""
    return values_shown(form)


@register.simple_tag
def student_link(student: Student) -> SafeString:
    """A student's name, which leads to their page."""
    return SafeString(f'<a href="{escape(student.get_absolute_url())}">{escape(student.name)}</a>')


@register.simple_tag(takes_context=True)
def ticked(context: Context, value: object) -> str:
    """``checked`` for a row whose tick came back with a refusal, else nothing."""
    request = context.get("request")
    return "checked" if request and was_ticked(request, value) else ""


@register.simple_tag(takes_context=True)
def money(context: Context, amount: Any, currency: str = "") -> str:
    """An amount in the practice's currency, by the currency's own decimals: ``{% money line.price
    %}``.

    The currency is the one given, else that of the practice (from the page's context, else looked
    up once a page).
    """
    number = _decimal(amount)
    if number is None:
        return NOTHING
    currency = currency or _currency(context)
    try:
        return money_text(number, currency, spoken_locale())
    except ValueError:  # No currency: a page must show the amount all the same.
        return f"{number} {currency}"


@register.filter
def grams(value: Any) -> str:
    """A mass given in grams: ``850 g``, from a kilogram on ``1.24 kg``."""
    number = _decimal(value)
    if number is None:
        return NOTHING
    if abs(number) >= 1000:
        return f"{_in_figures(number / 1000, 2)}{NARROW_SPACE}kg"
    return f"{number:.0f}{NARROW_SPACE}g"


@register.filter
def volts(value: Any, decimals: int = 2) -> str:
    """A voltage given in volts: ``2.83 V``."""
    number = _decimal(value)
    return NOTHING if number is None else f"{_in_figures(number, decimals)}{NARROW_SPACE}V"


@register.filter
def microvolts(value: Any, decimals: int = 2) -> str:
    """A voltage given in microvolts: ``1.62 µV``."""
    number = _decimal(value)
    return NOTHING if number is None else f"{_in_figures(number, decimals)}{NARROW_SPACE}µV"


@register.filter
def due(day: dt.date | dt.datetime | None, today: dt.date | None = None) -> str:
    """How far off a day is: ``overdue by 3 days``, ``due today``, ``due tomorrow``, ``due in 5
    days``.
    """
    if not day:
        return gettext("no date set")
    return due_dates.due_words(_date(day), _date(today) if today else timezone.localdate())


@register.filter
def due_state(day: dt.date | dt.datetime | None, today: dt.date | None = None) -> str:
    """The state key that goes with `due`: ``overdue``, ``due_today``, ``due_soon`` (a week or less)
    or ``planned``.
    """
    if not day:
        return marks.Sign.PLANNED
    return due_dates.due_sign(_date(day), _date(today) if today else timezone.localdate())


@register.filter
def late(came_at: dt.datetime, due_on: dt.date) -> str:
    """How late a kit came back: ``3 days late``; empty where it came in time."""
    return due_dates.late_words(due_on, _date(came_at))


@register.filter
def ago(moment: dt.date | dt.datetime | None, now: dt.datetime | None = None) -> str:
    """How long ago, in the unit that tells: ``just now``, ``12 minutes ago``, ``yesterday``, ``3
    weeks ago``.
    """
    if not moment:
        return gettext("never")
    now = now or timezone.now()
    today = timezone.localtime(now).date()
    if isinstance(moment, dt.datetime) and _date(moment) == today:
        span = moment - now
        if abs(span) < dt.timedelta(minutes=1):
            return gettext("just now")
        return dates.how_far(span, _locale())
    days = (_date(moment) - today).days
    if days in (0, -1):
        return dates.days_off(_date(moment), today, _locale())
    return dates.how_far(dt.timedelta(days=days), _locale())


@register.filter
def day(value: dt.date | dt.datetime | None) -> str:
    """A date as every screen shows it: ``31 Oct 2027``; empty for none."""
    return dates.short_date(_date(value), _locale()) if value else ""


@register.filter
def weekday(value: dt.date | dt.datetime | None) -> str:
    """A day to work on: ``Friday 12 March 2027``; empty for none."""
    return dates.weekday_date(_date(value), _locale()) if value else ""


@register.filter
def moment(value: dt.datetime | None) -> str:
    """A date with its time, in the practice's zone: ``31 Oct 2027, 14:05``; empty for none."""
    return dates.short_moment(timezone.localtime(value), _locale()) if value else ""


@register.filter
def faults(form: BaseForm) -> int:
    """How many sentences stand against what was typed; a field may have several."""
    return sum(len(sentences) for sentences in form.errors.values())


@register.simple_tag(name="counted")
def counted_tag(number: int, singular: str, plural: str) -> str:
    """A number with its noun: ``{% counted rows "row" "rows" %}``."""
    return counted(number, singular, plural)


@register.simple_tag(name="pieces")
def pieces_tag(number: int, name: str) -> str:
    """A line of a list with its number of pieces: ``{% pieces line.quantity line.name %}``."""
    return pieces(number, name)


@register.simple_tag
@kept
def part_drawing(kind: str) -> SafeString:
    """The line drawing of a part kind; an unknown kind gets a plain parcel. Decorative: the name
    stands beside it.
    """
    paths = format_html_join("", '<path d="{}"/>', ((path,) for path in drawings.paths_of(kind)))
    return format_html(
        '<svg class="drawing" viewBox="0 0 100 100" aria-hidden="true" focusable="false">{}</svg>',
        paths,
    )


@register.filter
def at(sequence: Any, index: int) -> Any:
    """The item at an index, for two lists that run side by side; None beyond the end."""
    try:
        return sequence[index]
    except (IndexError, TypeError, KeyError):
        return None


def _locale() -> Locale:
    """The language of the page that is drawn: English on every screen of the desk."""
    return known_locale(spoken_locale())


def _in_figures(number: Decimal, decimals: int) -> str:
    """A number with so many decimals, without marks between thousands."""
    places = "0" * int(decimals)
    return format_decimal(number, f"0.{places}" if places else "0", locale=_locale())


def _currency(context: Context) -> str:
    if currency := getattr(context.get("practice"), "currency", ""):
        return currency
    page_cache = cast(dict[str, str], context.render_context)
    if "desk_currency" not in page_cache:
        page_cache["desk_currency"] = Practice.current().currency
    return page_cache["desk_currency"]


def _decimal(value: Any) -> Decimal | None:
    if value is None or value == "":
        return None
    try:
        return Decimal(str(value))
    except InvalidOperation:
        raise ValueError(f"not a number: {value!r}") from None


def _date(value: dt.date | dt.datetime) -> dt.date:
    if isinstance(value, dt.datetime):
        return timezone.localtime(value).date() if timezone.is_aware(value) else value.date()
    return value
