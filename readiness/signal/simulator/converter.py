"""From the two inputs to codes: rejection, first stage with its stops, band limits, converter, and
their faults.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from readiness.signal.simulator.faults import Fault
from readiness.signal.simulator.parameters import (
    Setup,
    amplifier_gain,
    at_equal_density_uv,
    thermal_density_nv,
    with_noise,
)
from readiness.signal.simulator.sources import Clock, flicker, popcorn

LOUDEST_BODY_V = 5.0
"""No room brings more mains to a body that stands insulated (common practice)."""


def faulty_setup(setup: Setup, faults: tuple[Fault, ...]) -> Setup:
    """The set-up with those faults that are a changed parameter: excess noise, and the room's
    hum.
    """
    for fault in faults:
        if fault.kind == "excess_noise":
            setup = with_noise(setup, fault.severity * at_equal_density_uv(setup))
        elif fault.kind == "bench_interference":
            currents = {
                name: getattr(setup, name) * fault.severity
                for name in ("lead_na", "bar_na", "body_na")
            }
            # A transformer or a supply near by: the loop of the leads sees its field whatever the
            # room was before.
            setup = replace(setup, loop_uv=max(setup.loop_uv, 0.5) * fault.severity, **currents)
            volts = min(setup.hand.mains_v * fault.severity, LOUDEST_BODY_V)
            setup = replace(setup, hand=replace(setup.hand, mains_v=volts))
    return setup


def first_stage(
    clock: Clock, setup: Setup, a: np.ndarray, b: np.ndarray, rng: np.random.Generator
) -> np.ndarray:
    """Difference of the inputs with finite rejection and noise, behind the first stage's stops; uV
    at the input.

    Common mode passes as V/CMRR, partly in phase and partly as its derivative (a resistive and a
    capacitive mismatch; the second grows with frequency). At its stop a stage passes only
    ``stopped_gain`` of a change.
    """
    common = (a + b) / 2
    part = 10 ** (-setup.cmrr_db / 20)
    angle = np.radians(setup.cmrr_phase_deg)
    slope = np.gradient(common) * clock.rate_hz / (2 * np.pi * 50.0)
    x = a - b + part * (np.cos(angle) * common + np.sin(angle) * slope)
    x += flicker(clock, rng, setup.noise_density_nv, setup.flicker_corner_hz)
    x += clock.white(rng, thermal_density_nv(setup))
    stop = setup.stage_range_mv * 1e3
    held = np.clip(x, -stop, stop)
    return held + setup.stopped_gain * (x - held)


def band_limits(clock: Clock, setup: Setup, x: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Second-stage noise added, band limits applied, taken at the sampling rate: (samples,) from
    time zero on.
    """
    x = clock.shape(x + clock.white(rng, setup.second_stage_nv), amplifier_gain(setup, clock.freq))
    return x[clock.start :: clock.oversample]


def analogue_faults(
    clock: Clock, setup: Setup, x: np.ndarray, faults: tuple[Fault, ...], rng: np.random.Generator
) -> np.ndarray:
    """Faults of the analogue part that act on the sampled output: dead, low-frequency noise, offset
    to a rail.
    """
    for fault in faults:
        if fault.kind == "dead_channel":
            x = fault.severity * x
        elif fault.kind == "low_frequency_noise":
            x = x + low_frequency(clock, rng, fault.severity)[: len(x)]
        elif fault.kind == "saturated":
            x = x + fault.severity * setup.full_scale_uv
        elif fault.kind == "clipped":
            side = 1.0 if fault.severity >= 0 else -1.0
            x = (
                x
                - np.median(x)
                + side * setup.full_scale_uv
                - fault.severity * np.std(x[: len(x) // 4])
            )
    return x + setup.offset_uv


def low_frequency(clock: Clock, rng: np.random.Generator, rms_uv: float) -> np.ndarray:
    """Drift noise, (samples,): power as 1/f^2 from 0.5 to 20 Hz, as 1/f^6 above; ``rms_uv`` over
    all.
    """
    f = clock.freq
    gain = np.zeros(len(f))
    gain[1:] = 1 / (np.maximum(f[1:], 0.5) * (1 + (f[1:] / 20) ** 2))
    x = clock.shape(rng.standard_normal(clock.size), gain)
    return (x / x.std() * rms_uv)[clock.start :: clock.oversample]


def burst_faults(
    clock: Clock, x: np.ndarray, faults: tuple[Fault, ...], rng: np.random.Generator
) -> np.ndarray:
    """Burst noise of the first transistor pair, which the band limits then shape."""
    for fault in faults:
        if fault.kind == "burst_noise":
            x = x + popcorn(clock, rng, fault.severity, fault.count)
    return x


def convert(setup: Setup, x: np.ndarray, faults: tuple[Fault, ...]) -> np.ndarray:
    """Round to codes of ``step_uv``, stop at the rails, apply stuck bits; microvolts out."""
    top = 2 ** (setup.bits - 1)
    codes = np.clip(np.rint(x / setup.step_uv), -top, top - 1).astype(np.int64)
    for fault in faults:
        if fault.kind == "stuck_bits":
            bit = 1 << int(fault.severity)
            codes = codes | bit if fault.variant == "high" else codes & ~bit
    return codes * setup.step_uv
