"""Kitdesk's own CSV form is read back as it was written."""

from __future__ import annotations

from datetime import datetime

import numpy as np
import pytest

from readiness.signal.readers import read_capture, write_csv, write_edf

from .capture_files import RATE, trace


@pytest.mark.parametrize("unit", ["V", "mV", "uV", "nV"])
@pytest.mark.parametrize("with_time", [True, False])
def test_every_fact_comes_back(unit, with_time):
    taken = datetime(2026, 11, 25, 9, 30, 5)
    volts = np.round(np.linspace(3.0, 2.9, 5000), 3)
    data = write_csv(
        trace(),
        RATE,
        test="lift",
        kit="KD-7",
        unit=unit,
        mains_hz=60,
        battery_v=volts,
        resolution_uv=0.25,
        full_scale_uv=1000.0,
        taken=taken,
        with_time=with_time,
    )
    capture = read_capture("a.csv", data)
    np.testing.assert_allclose(capture.emg.samples, trace(), atol=1e-9)
    np.testing.assert_array_equal(capture.battery_v, volts)
    assert (capture.kit, capture.test, capture.mains_hz, capture.taken) == (
        "KD-7",
        "lift",
        60.0,
        taken,
    )
    assert capture.emg.resolution == pytest.approx(
        0.25
    ) and capture.emg.full_scale == pytest.approx((-1000.0, 1000.0))
    assert [c.role for c in capture.channels] == (["time"] if with_time else []) + [
        "emg",
        "battery",
    ]


def test_one_voltage_is_a_header_line():
    data = write_csv(trace(), RATE, test="still", battery_v=2.95)
    assert b"# battery_v: 2.95\n" in data
    np.testing.assert_array_equal(read_capture("a.csv", data).battery_v, [2.95])


def test_a_missing_sample_is_an_empty_cell():
    samples = trace()
    samples[17] = np.nan
    capture = read_capture("a.csv", write_csv(samples, RATE, test="still"))
    assert np.flatnonzero(np.isnan(capture.emg.samples)).tolist() == [17]
    assert [note.code for note in capture.notes] == ["missing_samples"]


def test_what_cannot_be_written_is_a_value_error():
    with pytest.raises(ValueError, match="unit must be"):
        write_csv(trace(), RATE, test="still", unit="counts")
    with pytest.raises(ValueError, match="test must be"):
        write_csv(trace(), RATE, test="rest")
    with pytest.raises(ValueError, match="zip"):
        write_csv(trace(), RATE, test="still", battery_v=np.ones(3))
    with pytest.raises(ValueError, match="range"):
        write_edf(trace() * 1e6, RATE, test="still")
    with pytest.raises(ValueError, match="80"):
        write_edf(trace(), RATE, test="still", kit="K" * 70)
