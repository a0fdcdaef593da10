"""Whether a quiet trace has the shape of a shorted input."""

import numpy as np
import pytest
from scipy.signal import butter, sosfilt

from readiness.signal.leads.shape import STEEP, Shape, beats_per_minute, shape_of, steepness
from readiness.signal.leads.trace import trace_of
from readiness.signal.spectrum.mains import find_mains
from readiness.signal.spectrum.noise import spectrum
from tests.readiness.signal.made import quiet

SECONDS = 10


def noise(rate: float = 1024.0) -> np.ndarray:
    return quiet(np.random.default_rng(3), rate=rate)


def beats(per_minute: float, start: float = 0.4, end: float = 10.0) -> np.ndarray:
    t = np.arange(10240) / 1024
    times = np.arange(start, end, 60 / per_minute)
    return sum(60 * np.exp(-(((t - at) / 0.006) ** 2)) for at in times)


def muscle(x: np.ndarray, rate: float) -> np.ndarray:
    """The same noise falling off beyond 60 Hz, as muscle does."""
    hz = np.fft.rfftfreq(len(x), 1 / rate)
    return np.fft.irfft(np.fft.rfft(x) / (1 + (hz / 60) ** 2), len(x))


def shape(x: np.ndarray, rate: float = 1024.0) -> Shape:
    mains = find_mains(x, rate)
    return shape_of(spectrum(x, rate, mains.lines_hz), trace_of(x, rate, mains), rate)


@pytest.mark.parametrize("rate", [256.0, 512.0, 1024.0])
def test_white_noise_is_flat_and_muscle_is_steep_at_every_rate(rate):
    x = noise(rate)
    assert steepness(spectrum(x, rate, ()), rate) < 1.35
    assert steepness(spectrum(muscle(x, rate), rate, ()), rate) > STEEP


@pytest.mark.parametrize("rate", [256.0, 512.0])
def test_a_converter_that_averages_over_its_interval_is_no_muscle(rate):
    box = np.ones(8) / 8
    thrice = np.convolve(np.convolve(box, box), box)
    fine = np.random.default_rng(4).normal(0, 1, round(10 * rate) * 8)
    x = np.convolve(fine, thrice, "same")[::8]
    assert steepness(spectrum(x, rate, ()), rate) < 0.9 * STEEP


def test_a_shorted_input_is_no_body_and_does_not_move():
    seen = shape(noise())
    assert (seen.is_body, seen.beats, seen.moved, seen.reason) == (False, False, False, "")
    assert seen.low_over_middle == pytest.approx(1, abs=0.3)


def test_a_body_says_why_it_is_one():
    heart = shape(noise() + beats(72))
    assert heart.is_body and heart.beats and "beats at 72 a minute" in heart.reason
    steep = shape(muscle(3 * noise(), 1024.0))
    assert steep.is_body and not steep.beats and "as muscle does" in steep.reason


@pytest.mark.parametrize(
    ("x", "rate"),
    [
        (beats(72), 72),
        (beats(72, end=5.0), None),  # it does not beat to the end
        (beats(300), None),
        (beats(20), None),
        (0.0, None),
    ],
)
def test_only_what_beats_from_end_to_end_at_a_heart_s_pace_is_a_heart(x, rate):
    y = noise() + x
    found = beats_per_minute(trace_of(y, 1024.0, find_mains(y, 1024.0)))
    assert found == (None if rate is None else pytest.approx(rate, rel=0.02))


def test_movement_is_told_with_its_size():
    t = np.arange(10240) / 1024
    moved = shape(noise() + 80 * np.exp(-(((t - 5) / 0.15) ** 2)))
    assert moved.moved
    assert moved.swing_uv == pytest.approx(80, rel=0.3)


@pytest.mark.parametrize("corner", [150.0, 200.0, 300.0])
@pytest.mark.parametrize("order", [2, 6])
def test_what_a_stated_low_pass_takes_is_no_slope(corner, order):
    low_pass = butter(order, corner, fs=1024.0, output="sos")
    passed = spectrum(sosfilt(low_pass, noise()), 1024.0, ())
    assert steepness(passed, 1024.0, corner) < 0.8 * STEEP
    if corner < 300.0:
        assert steepness(passed, 1024.0) > STEEP
    else:
        worn = spectrum(sosfilt(low_pass, muscle(noise(), 1024.0)), 1024.0, ())
        assert steepness(worn, 1024.0, corner) > STEEP
