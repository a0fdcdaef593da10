"""Traces of known make for the integrity tests."""

from __future__ import annotations

import numpy as np

from readiness.signal.capture import Channel, Note, Recording
from readiness.signal.integrity.checks import check_integrity

RATE = 1000.0
STEP = 0.25


def noise(sd: float = 1.5, count: int = 10_000, seed: int = 1, step: float = STEP) -> np.ndarray:
    return np.rint(np.random.default_rng(seed).normal(0.0, sd, count) / step) * step


def capture(
    samples: np.ndarray,
    rate: float = RATE,
    resolution: float | None = None,
    full_scale: tuple[float, float] | None = None,
    time: np.ndarray | None = None,
    test: str = "still",
    notes: tuple[Note, ...] = (),
) -> Recording:
    emg = Channel("emg", "emg", "uV", rate, samples, resolution, full_scale)
    times = () if time is None else (Channel("t_s", "time", "s", rate, time),)
    return Recording("a.csv", (*times, emg), emg, rate, test=test, notes=notes)


def codes_of(*args: object, **kwargs: object) -> list[str]:
    return [note.code for note in check_integrity(capture(*args, **kwargs))]
