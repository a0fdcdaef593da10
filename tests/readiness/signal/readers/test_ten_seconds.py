"""Time columns, rates, gaps, the length of a capture."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.capture import Declared
from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import read_capture

from .capture_files import COUNT, RATE, own_form, rows, trace


def timed(t: np.ndarray, form: str = "%.6f", **facts: object) -> bytes:
    return own_form("t_s,emg\n" + rows(t, trace(len(t)), form=form), **{"rate_hz": None, **facts})


@pytest.mark.parametrize("rate", [256.0, 500.0, 1000.0, 1024.0, 2000.0, 2048.0, 4096.0])
@pytest.mark.parametrize("decimals", [3, 4, 6, 9])
def test_the_time_column_gives_the_rate_however_coarsely_written(rate, decimals):
    t = np.arange(round(10 * rate)) / rate
    capture = read_capture("a.csv", timed(t, f"%.{decimals}f"))
    assert capture.rate_hz == rate
    assert capture.notes == ()


def test_times_of_day_in_seconds_give_the_rate():
    t = 1_795_600_000.0 + np.arange(COUNT) / RATE
    capture = read_capture("a.csv", timed(t))
    assert capture.rate_hz == RATE and capture.notes == ()


def test_a_gap_becomes_missing_samples_in_place():
    kept = np.ones(COUNT, bool)
    kept[2000:2050] = False
    capture = read_capture("a.csv", timed((np.arange(COUNT) / RATE)[kept]))
    (note,) = capture.notes
    assert (
        note.code == "missing_samples" and note.start_s == 4.0 and note.end_s == pytest.approx(4.1)
    )
    assert len(capture.emg.samples) == COUNT and np.isnan(capture.emg.samples[2000:2050]).all()
    assert (
        np.isfinite(capture.emg.samples[:2000]).all()
        and np.isfinite(capture.emg.samples[2050:]).all()
    )


def test_a_single_lost_sample_is_found():
    kept = np.ones(COUNT, bool)
    kept[3333] = False
    capture = read_capture("a.csv", timed((np.arange(COUNT) / RATE)[kept]))
    assert "1 sample (0.002 s) lacks" in capture.notes[0].text and np.isnan(
        capture.emg.samples[3333]
    )


def test_ten_seconds_torn_apart_are_kept_in_order_with_a_note():
    t = np.arange(COUNT) / RATE
    t[2500:] += 3.0
    capture = read_capture("a.csv", timed(t))
    np.testing.assert_array_equal(capture.emg.samples, trace())
    assert "lack at 5 s" in capture.notes[0].text and "early" in capture.notes[0].text


def test_a_time_column_without_steady_steps_gives_no_rate():
    t = np.sort(np.random.default_rng(3).uniform(0, 10, COUNT))
    with pytest.raises(CaptureRefused) as caught:
        read_capture("a.csv", timed(t))
    assert caught.value.missing == "rate"


def test_a_unitless_time_column_needs_the_rate_to_be_read():
    body = "time,emg\n" + rows(np.arange(COUNT) * 2.0, trace())
    with pytest.raises(CaptureRefused) as caught:
        read_capture("a.csv", own_form(body, rate_hz=None))
    assert caught.value.missing == "rate" and "s or ms" in caught.value.sentence
    capture = read_capture("a.csv", own_form(body))
    assert capture.channels[0].samples[1] == 0.002


@pytest.mark.parametrize(
    ("seconds", "taken"), [(9.69, False), (9.7, True), (10.5, True), (10.51, False)]
)
def test_the_length_of_a_capture(seconds, taken):
    data = own_form("emg\n" + rows(trace(round(seconds * 1000))), rate_hz=1000)
    if taken:
        assert read_capture("a.csv", data).duration_s == pytest.approx(seconds)
        return
    with pytest.raises(CaptureRefused) as caught:
        read_capture("a.csv", data)
    assert caught.value.missing == ("window" if seconds > 10 else "")


def test_a_window_is_cut_from_a_long_capture():
    data = own_form("emg\n" + rows(trace(10_000)), rate_hz=500)
    capture = read_capture("a.csv", data, Declared(window_start_s=4.0))
    np.testing.assert_array_equal(capture.emg.samples, trace(10_000)[2000:7000])
    with pytest.raises(CaptureRefused) as caught:
        read_capture("a.csv", data, Declared(window_start_s=10.5))
    assert caught.value.missing == "window"


@pytest.mark.parametrize("rate", [128.0, 250.0])
def test_a_rate_that_leaves_nothing_of_the_band_is_refused(rate):
    data = own_form("emg\n" + rows(trace(round(rate * 10))), rate_hz=rate)
    with pytest.raises(CaptureRefused, match="holds nothing of the band"):
        read_capture("a.csv", data)


def test_a_rate_above_the_limit_is_refused():
    with pytest.raises(CaptureRefused, match="20000 Hz"):
        read_capture("a.csv", own_form("emg\n" + rows(trace()), rate_hz=20_001))


def test_every_gap_is_told_with_its_place():
    kept = np.ones(COUNT, bool)
    kept[500:4500:500] = False
    capture = read_capture("a.csv", timed((np.arange(COUNT) / RATE)[kept]))
    assert len(capture.notes) == 6
    assert capture.notes[-1].text == "3 more gaps follow: 6 s (1), 7 s (1), 8 s (1)."


def test_five_places_with_empty_cells_are_named_and_the_others_counted():
    lines = own_form("emg\n" + rows(trace())).decode().splitlines()
    for number in range(100, 900, 100):
        lines[number] = lines[number + 1] = "nan"
    capture = read_capture("a.csv", "\n".join(lines).encode())
    assert "line 101 to 102" in capture.notes[0].text and len(capture.notes) == 6
    assert capture.notes[-1].text == "3 more places hold no finite number."
