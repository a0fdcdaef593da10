"""A capture in time: movement and mains out, cut into quarter seconds."""

import math

import numpy as np
import pytest

from readiness.signal.leads.trace import (
    HOP_S,
    Trace,
    power_sums,
    robust_sigma,
    trace_of,
)
from readiness.signal.spectrum.mains import find_mains
from tests.readiness.signal.made import quiet

RATE = 1024.0
T = np.arange(10240) / RATE


def noise(uv: float = 1.0) -> np.ndarray:
    return quiet(np.random.default_rng(5), uv)


def trace(x: np.ndarray, rails: tuple[float, float] | None = None) -> Trace:
    return trace_of(x, RATE, find_mains(x, RATE), rails)


@pytest.mark.parametrize("count", [486, 973])
def test_the_sums_of_a_periodogram_are_those_of_its_transform(count):
    values = noise()[:count] - noise()[:count].mean()
    power = np.abs(np.fft.rfft(values)) ** 2
    assert power_sums(values) == pytest.approx((power.sum(), power @ power))


def test_the_spread_of_noise_is_blind_to_events():
    x = noise(2.0)
    x[:100] = 1e5
    assert robust_sigma(x) == pytest.approx(2.0, rel=0.05)
    assert math.isnan(robust_sigma(np.array([])))


def test_hum_is_measured_in_every_segment_and_taken_out_of_the_rest():
    seen = trace(noise() + 100 * math.sqrt(2) * np.sin(2 * np.pi * 50.03 * T))
    assert seen.hum_rms == pytest.approx(100, rel=0.02)
    assert seen.hum_size == pytest.approx(100 * math.sqrt(2), rel=0.02)
    inner = slice(512, -512)
    assert np.std(seen.abrupt[inner]) < 2.0
    assert np.std(seen.band[inner]) < 2.0


def test_offset_and_slow_swings_are_told_by_segment():
    seen = trace(noise() + 300 + 50 * np.exp(-(((T - 5) / 0.1) ** 2)))
    still, moved = seen.segments(0.1, 4.0), seen.segments(4.5, 5.5)
    assert seen.offset[still] == pytest.approx(300, abs=1)
    assert seen.swing[moved].max() == pytest.approx(50, rel=0.2)
    assert seen.swing[still].max() < 5


def test_segments_lie_wholly_between_two_times():
    seen = trace(noise())
    chosen = seen.segments(1.0, 2.0)
    assert seen.start_s[chosen] == pytest.approx(np.arange(1.0, 1.76, HOP_S))
    assert len(seen.segments(1.0, 1.2)) == 0
    assert len(seen.part(seen.x, 1.0, 2.0)) == RATE


def test_the_share_of_a_segment_at_the_rails_counts_where_the_range_is_known():
    x = noise()
    x[(T >= 5) & (T < 6)] = 500.0
    assert trace(x).railed.max() == 0
    assert trace(noise(), (-500.0, 500.0)).railed.max() == 0
    seen = trace(x, (-500.0, 500.0))
    assert seen.railed[seen.segments(5.0, 6.0)] == pytest.approx(1)
    assert seen.railed[seen.segments(0.0, 4.0)] == pytest.approx(0)


def test_the_width_of_the_noise_is_that_of_the_band_above_movement():
    # A comb of response 1 - cos passes (3 / 2)^2 / (35 / 8) of the width.
    assert trace(noise()).bandwidth_hz == pytest.approx(0.514 * (RATE / 2 - 80), rel=0.2)
    assert trace(np.zeros(10240)).bandwidth_hz == RATE / 4


def test_noise_at_the_lines_is_told_by_what_stands_beside_them():
    seen = trace(noise())
    beside = seen.noise_at_lines(seen.segments(0.0, 10.0))
    assert beside.shape == (len(seen.orders),)
    assert beside == pytest.approx(seen.hum_u, rel=0.6)
    assert seen.noise_at_lines(np.array([], dtype=int)).tolist() == [0.0] * len(seen.orders)
