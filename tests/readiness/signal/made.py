"""Captures made for tests of the engine: a quiet sound trace, and the simulator's by test and
fault.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from readiness.signal.capture import Channel, Recording
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import Fault, Setup, simulate, with_noise

RATE = 1024.0
SETUP = with_noise(
    Setup(rate_hz=RATE, bits=16, full_scale_uv=5000.0, high_pass_hz=1.0, low_pass_hz=420.0), 0.9
)


def quiet(
    rng: np.random.Generator, uv: float = 1.0, rate: float = RATE, seconds: float = 10.0
) -> np.ndarray:
    """White noise of ``uv`` RMS over the whole band, microvolts."""
    return rng.normal(0, uv, int(seconds * rate))


def capture_of(
    x: np.ndarray, test: str, *, rate: float = RATE, battery: float | None = 2.9, **more
) -> Recording:
    """A capture round samples in microvolts with a battery reading."""
    emg = Channel(
        "emg", "emg", "uV", rate, x, more.pop("resolution", None), more.pop("full_scale", None)
    )
    volts = None if battery is None else np.array([battery])
    return Recording(
        file="made.csv", channels=(emg,), emg=emg, rate_hz=rate, test=test, battery_v=volts, **more
    )


def model_capture(test: str, *faults: Fault, seed: int = 1, **changes) -> Recording:
    """A capture of the simulator; ``changes`` to the set-up by name."""
    return simulate(test, replace(SETUP, **changes), faults, np.random.default_rng(seed)).capture


def results(*faults: Fault, tests=("still", "flex", "lift"), seed: int = 3, **changes):
    """Results of the usual bench tests of one kit with these faults, by test."""
    return {
        test: score_capture(model_capture(test, *faults, seed=seed, **changes)) for test in tests
    }


def codes(result) -> set[tuple[str, str | None]]:
    """Code and lead of every finding that is more than a note."""
    return {(item.code, item.lead) for item in result.findings if item.verdict != "note"}
