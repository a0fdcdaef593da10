"""The ways through a trace: closer, wider, earlier, later, its windows and events, each as an
address.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from readiness.charts.plots import MARKED_EVENTS
from readiness.charts.stretch import Stretch, around_event, whole, within
from readiness.models import Capture, Verdict
from readiness.selectors.evidence import WINDOW_WORDS

PLACE = "#trace-view"
MOST_EVENTS = MARKED_EVENTS


@dataclass(frozen=True)
class TraceStep:
    """A way from the stretch that is shown to another. ``url`` is empty where it leads nowhere,
    ``key`` the key that takes it, named in ``sign``; both are empty for a way without a key.
    """

    words: str
    url: str
    key: str = ""
    sign: str = ""
    here: bool = False


@dataclass(frozen=True)
class TraceView:
    """The ways on from a stretch: by key, and to the windows and events of the capture."""

    steps: list[TraceStep]
    places: list[TraceStep]


def trace_view(capture: Capture, verdict: Verdict, stretch: Stretch) -> TraceView:
    """The ways on from the stretch of a capture's trace that is shown."""
    page = capture.get_absolute_url()
    steps = [
        ("Closer", stretch.closer, "+", "+"),
        ("Wider", stretch.wider, "-", "−"),
        ("Earlier", stretch.earlier, "ArrowLeft", "←"),
        ("Later", stretch.later, "ArrowRight", "→"),
        ("Whole", whole(stretch.whole_s), "0", "0"),
    ]
    return TraceView(
        [_step(page, stretch, words, there, key, sign) for words, there, key, sign in steps],
        _places(page, stretch, verdict.result),
    )


def _places(page: str, stretch: Stretch, result: Mapping[str, Any]) -> list[TraceStep]:
    """The windows of the test, where there are several, and the events that are numbered."""
    windows = [
        (_window_words(name), within(start, end, stretch.whole_s))
        for name, start, end in result["windows"]
    ]
    starts = [event[0] for event in result["events"][:MOST_EVENTS]]
    events = [
        (f"Event {number}", around_event(start, stretch.whole_s))
        for number, start in enumerate(starts, 1)
    ]
    shown = [*(windows if len(windows) > 1 else []), *events]
    return [_step(page, stretch, words, there) for words, there in shown]


def _window_words(name: str) -> str:
    words = WINDOW_WORDS.get(name, name)
    return words[:1].upper() + words[1:]


def _step(
    page: str, here: Stretch, words: str, there: Stretch, key: str = "", sign: str = ""
) -> TraceStep:
    if there == here:
        return TraceStep(words, "", key, sign, here=True)
    return TraceStep(words, page + _asked(there) + PLACE, key, sign)


def _asked(stretch: Stretch) -> str:
    if stretch.is_whole:
        return ""
    bounds = {"from": f"{stretch.start_s:g}", "to": f"{stretch.end_s:g}"}
    return f"?{urlencode(bounds)}"
