"""Recordings of other make are read right to the last value, once the operator said what lacks."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.capture import Declared
from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import read_capture

from .layouts import COUNT, LAYOUTS, RATE, SECONDS, TRACE, VOLTS, clock, table, texts

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize("name", LAYOUTS)
def test_a_recording_of_other_make_is_read_to_the_last_value(name):
    layout = LAYOUTS[name]()
    capture = read_capture(layout.name, layout.data, Declared(test="still", **layout.said))
    assert capture.rate_hz == RATE
    assert capture.emg.samples.shape == (COUNT,)
    assert np.allclose(capture.emg.samples, TRACE, rtol=0.0, atol=layout.within_uv)
    assert capture.notes == ()
    assert capture.test == "still" and capture.kit is None
    if "battery_column" in layout.said:
        assert np.allclose(capture.battery_v, VOLTS, rtol=0.0, atol=1e-9)
    for channel in capture.channels:
        if channel.role == "time":
            assert np.allclose(np.diff(channel.samples), 1 / RATE, rtol=0.0, atol=0.011)


@pytest.mark.parametrize(
    ("head", "stamps", "words"),
    [
        (["Time", "EMG (uV)"], clock(np.floor(SECONDS), places=0), "'Time' about 5"),
        (
            ["Stamp", "EMG (uV)"],
            [f"2026-11-{25 + (i > 99)} {stamp}" for i, stamp in enumerate(clock(SECONDS))],
            "The date changes from '2026-11-25' to '2026-11-26'",
        ),
    ],
)
def test_stamps_that_do_not_tell_the_rate_are_told_by_name(head, stamps, words):
    with pytest.raises(CaptureRefused, match=words):
        read_capture("a.csv", table([head], stamps, texts(TRACE)), Declared(test="still"))


def test_text_amid_numbers_is_never_taken_for_settings():
    cells = texts(TRACE)
    for row in (0, 1, 2, 30):
        amid = [*cells[:row], "err", *cells[row + 1 :]]
        data = table([["t_s", "EMG (uV)"]], texts(SECONDS), amid)
        with pytest.raises(CaptureRefused, match=f"Line {row + 2}, column 2"):
            read_capture("a.csv", data, Declared(test="still"))
