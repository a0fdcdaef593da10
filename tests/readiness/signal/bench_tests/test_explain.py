"""What a drawing shows as a spike has a number, and what no judge counts has its reason."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from readiness.charts.plots import trace_plot
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import Fault
from tests.readiness.signal.made import capture_of, model_capture, quiet

NS = "{http://www.w3.org/2000/svg}"
BESIDE = 20


def drawn_spikes(capture) -> list[float]:
    """Times in seconds at which the drawing itself juts out: read back from its path."""
    drawing = trace_plot(capture.emg.samples, capture.rate_hz, ())
    tree = ET.fromstring(
        drawing.svg.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1)
    )
    paths = [item.get("d") for item in tree.iter(NS + "path")]
    path = next(d for d in paths if d.count("L") > 1000)
    points = np.array([pair.split() for pair in re.findall(r"[\d.]+ [\d.]+", path)], float)
    half = len(points) // 2
    edges = (-points[:half, 1], points[half:, 1][::-1])
    times = 10 * (points[:half, 0] - points[0, 0]) / (points[half - 1, 0] - points[0, 0])
    out = np.zeros(half, bool)
    for edge in edges:
        for at in range(half):
            beside = edge[max(0, at - BESIDE) : at + BESIDE + 1]
            middle = np.median(beside)
            spread = np.median(np.abs(beside - middle))
            out[at] |= edge[at] - middle > max(15 * spread, 9.0)  # nine pixels of 218
    return [float(time) for time in times[out]]


CASES = [
    ("still", ()),
    ("still", (Fault("burst_noise", 60.0, count=20),)),
    ("still", (Fault("worn_not_shorted"),)),
    ("flex", (Fault("intermittent_lead", 0.2, "A", count=3),)),
    ("flex", (Fault("burst_noise", 60.0, count=20),)),
    ("lift", (Fault("moved_too_early", 1.5),)),
    ("lift", (Fault("open_lead", float("inf"), "B"),)),
    ("ground", (Fault("intermittent_lead", 0.05, "A", count=3),)),
    ("worn", ()),
]


@pytest.mark.parametrize(("test", "faults"), CASES)
def test_every_spike_of_the_drawing_is_an_event_with_number_or_reason(test, faults):
    capture = model_capture(test, *faults, seed=5)
    result = score_capture(capture)
    for time in drawn_spikes(capture):
        assert any(event.start_s - 0.06 <= time <= event.end_s + 0.06 for event in result.events), (
            f"{test} {faults}: nothing speaks of the spike at {time:.2f} s"
        )
    starts = [event.start_s for event in result.events]
    assert starts == sorted(starts)
    if result.verdict == "fit":
        assert all(event.reason for event in result.events)


def test_the_drawings_have_spikes_to_speak_of():
    worn = model_capture("worn", seed=5)
    assert len(drawn_spikes(worn)) > 3
    reasons = {event.reason for event in score_capture(worn).events}
    assert reasons <= {"beat of the heart", "muscle, skin or heart"} and reasons


def test_what_follows_an_event_and_is_lower_is_its_recovery():
    rng = np.random.default_rng(8)
    x = quiet(rng)
    x[4000:4004] += 200.0
    x[4300:4330] -= 25 * np.hanning(30)  # too soft for a contact, and yet to be seen
    result = score_capture(capture_of(x, "flex"))
    first, second = result.events
    assert (first.reason, second.reason) == ("", "recovery of 1")
    assert first.end_s < second.start_s


def test_a_lift_says_which_lead_a_spike_comes_from():
    x = quiet(np.random.default_rng(9))
    x[3000:3004] += 400.0
    (event,) = score_capture(capture_of(x, "lift")).events
    assert event.reason == "lead A lifted or put back"
