"""The still part at the head of a test: what stands against it before a lead is touched."""

import numpy as np
import pytest

from readiness.signal.bench_tests.baseline import baseline
from readiness.signal.bench_tests.view import View
from readiness.signal.limits import Limits
from readiness.signal.result import Finding
from tests.readiness.signal.made import capture_of, quiet

T = np.arange(10240) / 1024
RNG = 7


def noise(uv: float = 1.0) -> np.ndarray:
    return quiet(np.random.default_rng(RNG), uv)


def hum(uv: float, start: float = 0.0, end: float = 10.0) -> np.ndarray:
    """Mains of ``uv`` RMS between two times."""
    return uv * np.sqrt(2) * np.sin(2 * np.pi * 50 * T) * ((start <= T) & (end > T))


def heart() -> np.ndarray:
    """Peaks narrow enough to be no movement, 72 a minute."""
    turns = [(T - at) / 0.006 for at in np.arange(0.4, 10, 60 / 72)]
    return sum(60 * turn * np.exp(-(turn**2)) for turn in turns)


def slow(uv: float) -> np.ndarray:
    return uv * np.sqrt(2) * np.sin(2 * np.pi * 6 * T)


def found_in(x: np.ndarray, test: str) -> Finding | None:
    return baseline(View(capture_of(x, test), Limits(), test))


def answer(x: np.ndarray, test: str = "flex") -> tuple[str, str] | None:
    found = found_in(x, test)
    return (found.code, found.verdict) if found else None


@pytest.mark.parametrize("test", ["flex", "lift", "ground"])
def test_a_quiet_start_has_nothing_against_it(test):
    assert answer(noise(), test) is None


@pytest.mark.parametrize(
    ("x", "code", "verdict"),
    [
        (noise() + 60_000, "open_lead", "retest"),
        (noise(0.02), "dead_channel", "not fit"),
        (noise() + hum(400), "bench_interference", "retest"),
        (noise(20) + hum(400), "open_lead", "retest"),
        (noise(8) + hum(60), "open_lead", "retest"),
        (noise(8), "excess_noise", "retest"),
        (noise() + heart(), "worn_not_shorted", "retest"),
        (noise() + slow(20), "low_frequency_noise", "retest"),
        (noise() + hum(600, start=1.0), "moved_too_early", "retest"),
        (noise() + 300 * ((T > 1.0) & (T < 1.4)), "moved_too_early", "retest"),
    ],
)
def test_what_stands_against_it_is_named(x, code, verdict):
    assert answer(x) == (code, verdict)


def test_a_lift_is_not_asked_for_beats_and_the_second_post_may_hum():
    beating = noise() + heart()
    assert "Beats at 72" in found_in(beating, "flex").text
    assert "Beats" not in found_in(beating, "lift").text
    assert answer(noise() + hum(400), "ground") is None


def test_muscle_is_steeper_than_any_amplifier():
    spectrum = np.fft.rfft(quiet(np.random.default_rng(1), 1.5))
    hz = np.fft.rfftfreq(len(T), 1 / 1024)
    muscle = np.fft.irfft(spectrum / (1 + (hz / 90) ** 2), len(T))
    assert answer(muscle) == ("worn_not_shorted", "retest")
