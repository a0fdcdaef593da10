"""Abrupt events and the reaction of lifted leads."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.signal import butter, sosfilt

from readiness.signal.catalogue import FLEX
from readiness.signal.leads.events import find_events, lead_at
from readiness.signal.leads.trace import trace_of
from readiness.signal.score import score_capture
from readiness.signal.spectrum.mains import find_mains
from tests.readiness.signal.made import capture_of, quiet


def traced(x: np.ndarray, rate: float = 1024.0):
    return trace_of(x, rate, find_mains(x, rate))


def test_sound_noise_alone_raises_no_event():
    """At most one capture in a thousand may; of sixty none should."""
    for seed in range(60):
        found = find_events(traced(quiet(np.random.default_rng(seed))), FLEX.spans, 0.0)
        assert found.conforms > 0.05
        assert not found.events


@pytest.mark.parametrize("rate", [256.0, 1024.0, 4096.0])
def test_slow_movement_of_a_sound_lead_raises_no_event(rate):
    """Tens of microvolts below 20 Hz: noise of 40 uV RMS through a fourth-power fall above 5 Hz."""
    rng = np.random.default_rng(int(rate))
    x = quiet(rng, 1.0, rate)
    hz = np.fft.rfftfreq(len(x), 1 / rate)
    slow = np.fft.irfft(np.fft.rfft(rng.normal(size=len(x))) / (1 + (hz / 5) ** 4), len(x))
    x[int(2.5 * rate) :] += (
        40
        * (slow / slow.std())[int(2.5 * rate) :]
        * np.minimum(1, np.arange(len(x) - int(2.5 * rate)) / rate / 0.25)
    )
    assert not find_events(traced(x, rate), FLEX.spans, 0.0).events


@pytest.mark.parametrize("corner_hz", [10.0, 20.0])
@pytest.mark.parametrize("rate", [512.0, 1024.0, 4096.0])
def test_movement_that_falls_slowly_beyond_its_corner_is_no_open_lead(rate, corner_hz):
    """12 dB an octave leaves some microvolts of it at 40 to 80 Hz: more than the noise, but no
    abrupt event.
    """
    low_pass = butter(2, corner_hz, fs=rate, output="sos")
    ramp = np.clip((np.arange(int(10 * rate)) / rate - 2.5) / 0.2, 0, 1)
    sure = 0
    for seed in range(10):
        rng = np.random.default_rng((seed, int(rate)))
        slow = sosfilt(low_pass, rng.normal(size=len(ramp)))
        x = quiet(rng, 1.0, rate) + 60 * ramp * slow / slow.std()
        found = score_capture(capture_of(x, "flex", rate=rate)).findings
        sure += any(item.verdict == "not fit" for item in found)
    assert sure == 0


@pytest.mark.parametrize("ms", [1, 5, 50, 300])
def test_an_open_of_any_length_is_one_event_in_its_place(ms):
    rng = np.random.default_rng(ms)
    x = quiet(rng)
    x[6400 : 6400 + max(1, int(1.024 * ms))] += 60
    events = find_events(traced(x), FLEX.spans, 0.0).events
    assert events
    assert events[0].lead == "B"
    assert events[0].start_s == pytest.approx(6.25, abs=0.03)
    assert all(event.lead == "B" for event in events)


def test_a_huge_open_does_not_smear_into_other_windows():
    x = quiet(np.random.default_rng(7))
    x[3600:3800] += 20_000
    assert {event.lead for event in find_events(traced(x), FLEX.spans, 0.0).events} == {"A"}


def test_hum_that_sways_with_a_moving_cable_is_no_event():
    t = np.arange(10240) / 1024
    sway = 1 + 0.1 * np.sin(2 * np.pi * 2.3 * t) * (t > 2.5)
    x = quiet(np.random.default_rng(8)) + 60 * sway * np.sin(2 * np.pi * 50 * t)
    assert not find_events(traced(x), FLEX.spans, 60 / 2**0.5).events


@pytest.mark.parametrize(
    ("start", "lead"),
    [(3.4, "A"), (2.7, None), (4.8, None), (5.2, None), (6.0, "B"), (7.4, None), (9.0, "ground")],
)
def test_leads_are_named_only_where_half_a_second_cannot_matter(start, lead):
    assert lead_at(FLEX.spans, start, start + 0.01)[1] == lead
