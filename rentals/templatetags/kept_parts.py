"""Parts of pages that are drawn once and kept as text: the navigation, and cells of lists. None of
what is kept here names a person or holds what people typed, but for the names of runs and kit types
that a list is narrowed to. A group of the day's work may; what is drawn of it is kept with the
group, and goes with it.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterable
from functools import lru_cache

from django import template
from django.template import Context
from django.template.loader import render_to_string
from django.utils.html import format_html
from django.utils.safestring import SafeString

from rentals.addresses import page_address
from rentals.marks import Mark
from rentals.paper.sheet_drawing import Slot
from rentals.selectors.run_strips import RunStrip
from rentals.selectors.work_lines import WorkGroup
from rentals.web.ticked import was_ticked

register = template.Library()

#: By the types of the arguments too: a text that is marked as safe is equal to the same text that
#: is not.
kept = lru_cache(maxsize=1000, typed=True)
#: Places of a part that is kept without what belongs there.
_VALUE, _WHAT = "place-of-the-value", "place-of-the-words"


@register.simple_tag
@kept
def navigation(screens: tuple[tuple[str, str, bool], ...]) -> SafeString:
    """The links to these screens, each as label, address, and whether it is the page's own."""
    nav = [{"label": label, "url": url, "current": current} for label, url, current in screens]
    return render_to_string("_parts/_nav.html", {"nav": nav})


@register.simple_tag(takes_context=True)
def tick_code(context: Context, form: str, code: str) -> SafeString:
    """The box that ticks a row of a list by the code of its kit or part."""
    return _tick_code(form, code, was_ticked(context["request"], code))


@kept
def _tick_code(form: str, code: str, checked: bool) -> SafeString:
    words = {"form": form, "name": "code", "value": code, "what": code, "checked": checked}
    return render_to_string("_parts/_tick.html", words)


@register.simple_tag(takes_context=True)
def tick_person(context: Context, form: str, name: str, number: int, person: str) -> SafeString:
    """The box that ticks a row of a list of people; what is kept of it is only what is around their
    numbers and names.
    """
    before, between, after = _around_tick(form, name, was_ticked(context["request"], number))
    return format_html("{}{}{}{}{}", before, number, between, person, after)


@kept
def _around_tick(form: str, name: str, checked: bool) -> tuple[SafeString, ...]:
    words = {"form": form, "name": name, "value": _VALUE, "what": _WHAT, "checked": checked}
    drawn = render_to_string("_parts/_tick.html", words)
    return tuple(SafeString(part) for part in re.split(f"{_VALUE}|{_WHAT}", drawn))


@register.simple_tag
@kept
def kit_heading(code: str) -> SafeString:
    """The cell of a list that names a kit and leads to its page."""
    words = {"code": code, "url": page_address("rentals:kit", code)}
    return render_to_string("rentals/kit/_heading.html", words)


@register.simple_tag
@kept
def state_marks(marks: tuple[Mark, ...]) -> SafeString:
    """Several states one after the other."""
    return render_to_string("_parts/_states.html", {"marks": marks})


@register.simple_tag
@kept
def due_cell(due_on: dt.date, due: Mark | None) -> SafeString:
    """When a kit is due back, and how far off that is where it is away."""
    return render_to_string("rentals/kit/_due.html", {"due_on": due_on, "due": due})


@register.simple_tag
@kept
def due_in_words(due_on: dt.date, due: str) -> SafeString:
    """The same with words in place of a mark."""
    return render_to_string("rentals/run/_due.html", {"due_on": due_on, "due": due})


@register.simple_tag
@kept
def scores_cell(
    continuity: float | None, noise: float | None, battery: float | None, all_pass: bool
) -> SafeString:
    """The last bench scores of a kit; one sign for all of them on the phone where all pass."""
    words = {"continuity": continuity, "noise": noise, "battery": battery, "all_pass": all_pass}
    return render_to_string("rentals/kit/_scores.html", words)


@register.simple_tag
def work_group(group: WorkGroup, place: int) -> SafeString:
    """A group of the day's work in its place on the page, from 1 on."""
    if place not in group.drawn:
        words = {"group": group, "place": place}
        group.drawn[place] = render_to_string("rentals/desk/_work_group.html", words)
    return group.drawn[place]


@register.simple_tag
def label_slots(slots: Iterable[Slot], size: tuple[float, float], type_mm: float) -> SafeString:
    """The labels of a sheet as they are drawn: where each lies, how large it is, how its number."""
    return _label_slots(tuple(slots), size, type_mm)


@kept
def _label_slots(slots: tuple[Slot, ...], size: tuple[float, float], type_mm: float) -> SafeString:
    words = {"slots": slots, "size": size, "type_mm": type_mm}
    return render_to_string("rentals/paper/_label_slots.html", words)


@register.simple_tag
def options(choices: Iterable[tuple[str, str, bool]]) -> SafeString:
    """The options of a choice above a list, each as value, label, and whether it is chosen."""
    return _options(tuple(choices))


@lru_cache(maxsize=64, typed=True)  # some name each of hundreds of runs
def _options(choices: tuple[tuple[str, str, bool], ...]) -> SafeString:
    drawn = [{"value": value, "label": label, "current": now} for value, label, now in choices]
    return render_to_string("_parts/_options.html", {"options": drawn})


@register.simple_tag
@kept
def run_strip(strip: RunStrip) -> SafeString:
    """How far a run has come."""
    return render_to_string("_parts/_strip.html", {"strip": strip})
