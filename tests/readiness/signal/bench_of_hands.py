"""A second model of a flex, made apart from the simulator: recursive filters in place of spectra,
strokes of a hand in place of coloured noise, charge that leaks in place of a slow sway.

It knows neither the scorer's limits nor the simulator's formulas, and ranges wider than both.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.signal import butter, lfilter, sosfilt

from readiness.signal.capture import Channel, Recording

RATES_HZ = (250.0, 500.0, 1000.0, 2000.0)
CALLS_S = {"A": 2.5, "B": 5.0, "ground": 7.5}
LEAD_IN_S = 4.0


@dataclass(frozen=True)
class HandBench:
    """One amplifier and one pair of hands. ``gain_uv``: height of a usual stroke on an active lead,
    the ground lead gives ``ground_share`` of it; ``leak_s``: how fast a cable loses its charge.
    """

    rate_hz: float
    high_pass_hz: float
    order: int
    noise_uv: float
    pink_share: float
    gain_uv: float
    ground_share: float
    strokes_hz: float
    leak_s: float
    hum_uv: float
    mains_hz: float
    step_uv: float
    late_s: float


def draw_bench(rng: np.random.Generator, high_pass_hz: float | None = None) -> HandBench:
    """A bench from wide ranges; its noise over 20 to 450 Hz is at most nine tenths of the limit."""

    def log(low: float, high: float) -> float:
        return float(np.exp(rng.uniform(np.log(low), np.log(high))))

    noise = log(0.25, 1.8)
    return HandBench(
        rate_hz=float(rng.choice(RATES_HZ)),
        high_pass_hz=log(0.03, 30.0) if high_pass_hz is None else high_pass_hz,
        order=int(rng.choice((1, 2, 4))),
        noise_uv=noise,
        pink_share=float(rng.uniform(0.0, 0.6)),
        gain_uv=log(12.0, 150.0),
        ground_share=float(rng.uniform(0.25, 0.8)),
        strokes_hz=float(rng.uniform(1.2, 3.5)),
        leak_s=log(0.03, 2.0),
        hum_uv=log(0.05, 60.0),
        mains_hz=float(rng.choice((50.0, 60.0))),
        step_uv=noise * float(rng.uniform(0.01, 1.0)),
        late_s=float(rng.uniform(-0.4, 0.4)),
    )


def hand_flex(
    bench: HandBench, rng: np.random.Generator, moved: tuple[str, ...] = ("A", "B", "ground")
) -> Recording:
    """A flex of a sound kit in which only the leads of ``moved`` are bent."""
    count = round((LEAD_IN_S + 10) * bench.rate_hz)
    t = np.arange(count) / bench.rate_hz - LEAD_IN_S
    x = _amplifier_noise(bench, rng, count)
    ends = {"A": 5.0, "B": 7.5, "ground": 10.0}
    for lead in moved:
        share = bench.ground_share if lead == "ground" else 1.0
        start = CALLS_S[lead] + bench.late_s
        stop = min(10.0, ends[lead] + bench.late_s)
        x += share * bench.gain_uv * _strokes(bench, rng, t, start, stop)
    hum = bench.hum_uv * (1 + 0.02 * np.sin(2 * np.pi * 0.2 * t + rng.uniform(0, 6)))
    x += hum * np.sin(2 * np.pi * bench.mains_hz * t + rng.uniform(0, 6))
    x += 0.1 * hum * np.sin(6 * np.pi * bench.mains_hz * t + rng.uniform(0, 6))
    high_pass = butter(bench.order, bench.high_pass_hz, "high", fs=bench.rate_hz, output="sos")
    x = sosfilt(high_pass, x)[-round(10 * bench.rate_hz) :]
    x = bench.step_uv * np.round(x / bench.step_uv)
    channel = Channel("emg", "emg", "uV", bench.rate_hz, x, bench.step_uv, (-5000.0, 5000.0))
    return Recording(
        file="hands.csv",
        channels=(channel,),
        emg=channel,
        rate_hz=bench.rate_hz,
        test="flex",
        mains_hz=bench.mains_hz,
        battery_v=np.array([2.9]),
    )


def _amplifier_noise(bench: HandBench, rng: np.random.Generator, count: int) -> np.ndarray:
    """White noise, and pink noise as leaky sums an octave apart; so many microvolts over 20
    to 450 Hz.
    """
    density = bench.noise_uv / np.sqrt(430.0)
    white = rng.standard_normal(count) * density * np.sqrt(bench.rate_hz / 2)
    pink = np.zeros(count)
    for octave in range(1, 11):
        keep = 1 - np.pi * 2 / 2**octave / 2
        pink += lfilter([np.sqrt(1 - keep**2)], [1, -keep], rng.standard_normal(count))
    # One tenth of the density of pink noise stands at 20 Hz, where the two are to meet at most.
    pink *= density * np.sqrt(10.0) * 1.5
    return np.sqrt(1 - bench.pink_share) * white + bench.pink_share * pink


def _strokes(
    bench: HandBench, rng: np.random.Generator, t: np.ndarray, start_s: float, stop_s: float
) -> np.ndarray:
    """Bends to and fro, one after the other with short rests: each drives charge for as long as it
    lasts, which then leaks away.
    """
    drive = np.zeros(len(t))
    at, sign = start_s + float(rng.uniform(0.0, 0.25)), float(rng.choice((-1.0, 1.0)))
    while at < stop_s - 0.1:
        lasts = float(rng.uniform(0.6, 1.4)) / bench.strokes_hz / 1.5
        inside = (t >= at) & (t < min(at + lasts, stop_s))
        size = float(rng.uniform(0.5, 1.5))
        drive[inside] += sign * size * np.sin(np.pi * (t[inside] - at) / lasts) ** 2 / lasts * 2
        at += lasts * float(rng.uniform(1.0, 1.5))
        sign = -sign if rng.random() < 0.85 else sign
    leak = np.exp(-1 / (bench.leak_s * bench.rate_hz))
    return lfilter([1 / bench.rate_hz], [1, -leak], drive)
