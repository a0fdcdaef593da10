"""The ways through a trace: by key, to its windows and to its events."""

from __future__ import annotations

import pytest

from readiness.actions.upload import store_upload
from readiness.charts.stretch import whole, within
from readiness.selectors.trace_view import trace_view
from tests.factories import complete_kit
from tests.readiness.captures import INTERMITTENT_B, capture_bytes, capture_file

pytestmark = pytest.mark.django_db


def view_of(test, stretch=None, faults=()):
    code = complete_kit(cleared=False).code
    data = capture_bytes(test, kit=code, faults=faults)
    capture = store_upload([capture_file("a.csv", data)]).captures.get()
    return capture, trace_view(capture, capture.verdicts.get(), stretch or whole(10.0))


def test_from_the_whole_only_closer_leads_on():
    capture, view = view_of("flex", faults=INTERMITTENT_B)
    addresses = {step.words: step.url for step in view.steps}
    page = capture.get_absolute_url()
    assert addresses.pop("Closer") == f"{page}?from=2.5&to=7.5#trace-view"
    assert set(addresses.values()) == {""}
    assert [step.key for step in view.steps] == ["+", "-", "ArrowLeft", "ArrowRight", "0"]


def test_windows_and_events_are_places_to_go_to():
    capture, view = view_of("flex", within(5.0, 7.5, 10.0), INTERMITTENT_B)
    words = [step.words for step in view.places]
    assert words[:5] == ["Still", "Lead A", "Lead B", "Ground", "Event 1"]
    assert [step.words for step in view.places if step.here] == ["Lead B"]
    events = capture.verdicts.get().result["events"]
    assert len(words) == 4 + len(events)
    back = {step.words: step.url for step in view.steps}["Whole"]
    assert back == f"{capture.get_absolute_url()}#trace-view"


def test_a_test_of_one_window_has_no_place_but_its_events():
    _, view = view_of("still")
    assert view.places == []
