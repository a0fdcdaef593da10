"""What reaches the leads from outside, as functions of time, in microvolts."""

from __future__ import annotations

import numpy as np

from .drawing import BenchRoom, log_uniform

TDMA_FRAME_S = 0.12 / 26
TDMA_SLOT_S = TDMA_FRAME_S / 8
IDLE_FRAME = 26
HEART_WAVES = (
    # moment of the beat, width (s), height
    (-0.18, 0.025, 0.12),
    (-0.03, 0.010, -0.12),
    (0.0, 0.011, 1.0),
    (0.03, 0.012, -0.25),
    (0.27, 0.060, 0.25),
)


def mains_wave(room: BenchRoom, times_s: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Mains of 1 RMS in its first harmonic, its height wandering by a few per cent; complex."""
    drift = room.wander * np.sin(2 * np.pi * 0.13 * times_s + rng.uniform(0, 6))
    turn = np.exp(2j * np.pi * (room.mains_hz * times_s + rng.uniform()))
    heights = dict(room.harmonics)
    # Horner's rule: one product for each power of the first harmonic.
    wave = np.zeros_like(turn)
    for number in range(max(heights), 0, -1):
        wave += heights.get(number, 0.0)
        wave *= turn
    return np.sqrt(2) * (1 + drift) * wave


def static_swings(
    height_uv: float, per_s: float, times_s: np.ndarray, rng: np.random.Generator
) -> np.ndarray:
    """Voltage of a body whose feet and clothes move: smooth steps at random moments."""
    swings = np.zeros(len(times_s))
    length = times_s[-1] - times_s[0]
    for _ in range(rng.poisson(per_s * length)):
        middle, width = times_s[0] + rng.uniform() * length, log_uniform(rng, 0.04, 0.6)
        height = rng.normal(0, height_uv / 2)
        first, last = np.searchsorted(times_s, (middle - 8 * width, middle + 8 * width))
        swings[:first] -= height
        swings[first:last] += height * np.tanh((times_s[first:last] - middle) / width)
        swings[last:] += height
    return swings


def heart(room: BenchRoom, times_s: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """The heart between two hands."""
    beat = 1 / room.heart_hz
    phase = (times_s + rng.uniform() * beat) % beat - 0.35 * beat
    wave = np.zeros(len(times_s))
    for middle, width, height in HEART_WAVES:
        wave += height * np.exp(-0.5 * ((phase - middle) / width) ** 2)
    return room.heart_uv * wave


def phone_bursts(times_s: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """What an amplifier rectifies of a phone: a slot of every frame, one frame in 26 idle, for a
    fraction of a second up to some seconds, at any time.
    """
    frames = times_s / TDMA_FRAME_S + rng.uniform()
    step = times_s[1] - times_s[0]
    on = np.clip((TDMA_SLOT_S - (frames % 1) * TDMA_FRAME_S) / step + 1, 0, 1)
    on *= np.floor(frames) % IDLE_FRAME != 0
    heard = np.zeros(len(times_s))
    for _ in range(int(rng.integers(1, 5))):
        start = rng.uniform(-0.5, 9.8)
        during = (times_s >= start) & (times_s < start + log_uniform(rng, 0.05, 2.5))
        heard += log_uniform(rng, 4, 400) * float(rng.choice((-1, 1))) * during
    return heard * on


def knock(times_s: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """A table that was touched: cables swing and come to rest."""
    swing = np.zeros(len(times_s))
    for _ in range(int(rng.integers(1, 5))):
        since = times_s - rng.uniform(0, 9)
        ring = np.sin(2 * np.pi * log_uniform(rng, 0.6, 9) * since + rng.uniform(0, 6))
        rise = 1 - np.exp(-np.clip(since, 0, None) / 0.05)
        fall = np.exp(-np.clip(since, 0, None) / log_uniform(rng, 0.15, 1.5))
        swing += log_uniform(rng, 20, 400) * rise * fall * ring * (since > 0)
    return swing


def friction(
    spans: list[tuple[float, float]], times_s: np.ndarray, rng: np.random.Generator
) -> np.ndarray:
    """Spikes of a sound cable that rubs: charge torn apart and back within milliseconds."""
    spikes = np.zeros(len(times_s))
    for first, last in spans:
        for _ in range(int(rng.integers(1, 12))):
            width = log_uniform(rng, 0.0008, 0.006)
            at = (times_s - rng.uniform(first, last)) / width
            near = np.abs(at) < 6
            height = log_uniform(rng, 12, 250) * float(rng.choice((-1, 1)))
            spikes[near] += height * at[near] * np.exp(0.5 - 0.5 * at[near] ** 2)
    return spikes


def telegraph(height_uv: float, times_s: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Popcorn: two levels, each held for a time without memory."""
    up, down = log_uniform(rng, 0.02, 1.5), log_uniform(rng, 0.02, 1.5)
    count = int(4 + 4 * (times_s[-1] - times_s[0]) / min(up, down))
    stays = rng.exponential(1, count) * np.where(np.arange(count) % 2, up, down)
    flips = times_s[0] + np.cumsum(stays)
    return height_uv * (np.searchsorted(flips, times_s) % 2)
