"""Set-ups drawn from plausible ranges, for studies in which no single setting may matter."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from readiness.signal.simulator.hand import Hand
from readiness.signal.simulator.parameters import (
    Setup,
    at_equal_density_uv,
    band_noise_uv,
    with_noise,
)

RATES_HZ = (256.0, 500.0, 512.0, 1000.0, 1024.0, 2000.0, 2048.0, 4096.0)
ROOM_GAIN = {"quiet": (0.04, 0.2), "ordinary": (0.2, 1.0), "noisy": (1.0, 4.0)}
BODY_V = {"quiet": (0.1, 1.5), "ordinary": (0.3, 3.0), "noisy": (1.0, 5.0)}
LOOP_UV = {"quiet": (0.02, 0.2), "ordinary": (0.1, 1.5), "noisy": (1.0, 12.0)}


def draw_setup(rng: np.random.Generator, spread: float = 1.0, room: str | None = None) -> Setup:
    """A set-up with every free parameter drawn; ``spread=2`` doubles each range about its
    (geometric) middle.

    Rates, bits and mains frequency are choices, not ranges, so ``spread`` leaves them alone; so it
    does with the operator's half second, which is what the instructions allow, and with the verdict
    limits a sound kit keeps.
    """
    drawn = _Draw(rng, spread)
    rate = float(rng.choice(RATES_HZ))
    bits = int(rng.choice((12, 14, 16, 24)))
    room = room or str(rng.choice(("quiet", "ordinary", "noisy"), p=(0.35, 0.45, 0.2)))
    setup = replace(
        Setup(rate_hz=rate, bits=bits, room=room, seed=int(rng.integers(2**31))),
        **_amplifier(drawn, rate, bits),
        **_inputs(drawn),
        **_room(drawn, room),
        **_battery(drawn),
        **_operator(rng),
    )
    return replace(_quiet_enough(setup, rng, spread), hand=_hand(drawn, room))


class _Draw:
    """Draws from a range widened by ``spread`` about its middle: on a logarithm's scale, or on a
    plain one.
    """

    def __init__(self, rng: np.random.Generator, spread: float) -> None:
        self.rng, self.spread = rng, spread

    def log(self, low: float, high: float) -> float:
        return float(np.exp(self.plain(np.log(low), np.log(high))))

    def plain(self, low: float, high: float) -> float:
        middle, half = (low + high) / 2, (high - low) / 2
        return float(self.rng.uniform(middle - half * self.spread, middle + half * self.spread))


def _amplifier(d: _Draw, rate: float, bits: int) -> dict[str, Any]:
    # Coarse converters need gain in front of them; a 24-bit one is usually coupled to direct
    # voltage.
    direct = bits == 24 and d.rng.random() < 0.6
    scale = {12: (900, 2500), 14: (1500, 6000), 16: (2500, 12000), 24: (20000, 300000)}[bits]
    return {
        "full_scale_uv": float(f"{d.log(*scale):.3g}"),
        "flicker_corner_hz": d.log(1.0, 20.0),
        "second_stage_nv": d.log(1.0, 12.0),
        "high_pass_hz": 0.0 if direct else float(d.rng.choice((0.5, 1.0, 5.0, 10.0, 20.0))),
        "low_pass_hz": min(0.42 * rate, float(d.rng.choice((450.0, 500.0, 1000.0)))),
        "low_pass_order": int(d.rng.choice((3, 4, 6))) if bits < 24 else 8,
        "offset_uv": d.plain(-2000.0, 2000.0) if direct else 0.0,
        "stage_range_mv": d.log(100.0, 400.0),
        "stopped_gain": d.log(0.001, 0.08),
    }


def _inputs(d: _Draw) -> dict[str, Any]:
    lead = d.log(0.5, 8.0)
    return {
        "cmrr_db": d.plain(80.0, 105.0),
        "cmrr_phase_deg": float(d.rng.uniform(0.0, 90.0)),
        "input_mohm": d.log(60.0, 800.0),
        "input_pf": d.log(30.0, 140.0),
        "input_mismatch": d.log(0.01, 0.06),
        "bias_pa": d.log(3.0, 150.0) * float(d.rng.choice((-1.0, 1.0))),
        "lead_kohm": (lead, lead * (1 + d.plain(-0.02, 0.02))),
        "ground_kohm": d.log(0.2, 5.0),
        "bar_ohm": d.log(0.02, 1.0),
        "temperature_k": 273.15 + float(d.rng.uniform(17.0, 29.0)),
    }


def _room(d: _Draw, room: str) -> dict[str, Any]:
    gain = d.log(*ROOM_GAIN[room])
    odd = d.log(0.05, 0.4)
    harmonics = [1.0]
    for k in range(2, 13):
        fall = odd * (3.0 / k) if k % 2 else 0.15 * odd * (2.0 / k)
        harmonics.append(fall * d.log(0.4, 1.6))
    return {
        "mains_hz": float(d.rng.choice((50.0, 60.0))),
        "mains_offset_hz": d.plain(-0.06, 0.06),
        "mains_drift_hz_s": d.plain(-0.003, 0.003),
        "mains_sway": d.log(0.005, 0.03),
        "harmonics": tuple(harmonics),
        # 6 nA into a patient cable of some 2.7 m (Huhta and Webster, from memory); a kit's leads
        # are about a metre.
        "lead_na": gain * d.log(0.15, 2.2),
        "bar_na": gain * d.log(0.3, 3.0),
        "body_na": gain * d.log(60.0, 500.0),
        "body_pf": d.log(60.0, 250.0),
        "loop_uv": d.log(*LOOP_UV[room]),
        "movement_uv": d.log(5.0, 40.0),
        "movement_hz": min(d.log(1.5, 6.0), 8.0),
    }


def _hand(d: _Draw, room: str) -> Hand:
    """From 0.1 to 5 V of mains through 5 to 200 pF; volts of static that come within seconds."""
    up, down = d.rng.uniform(0.0, 0.3, 2)
    return Hand(
        mains_v=d.log(*BODY_V[room]),
        bar_pf=d.log(5.0, 200.0),
        lead_pf=d.log(0.2, 50.0),
        near=d.log(0.02, 0.5),
        static_v=d.log(0.05, 30.0),
        static_hz=d.log(0.15, 1.5),
        finger=0.15,
        finger_kohm=d.log(20.0, 1000.0),
        up_s=(0.0, 0.3 + float(up)),
        down_s=(0.1, 0.4 + float(down)),
    )


def _battery(d: _Draw) -> dict[str, Any]:
    chemistry = str(d.rng.choice(("alkaline", "nimh", "lithium")))
    # Two cells at rest; alkaline 1.5 to 1.6 V, NiMH 1.30 to 1.40 V (rows B2, B5), lithium primary
    # 1.6 to 1.75 V.
    emf = {"alkaline": (2.95, 3.2), "nimh": (2.66, 2.8), "lithium": (3.2, 3.5)}[chemistry]
    return {
        "chemistry": chemistry,
        "emf_v": float(d.rng.uniform(*emf)),
        "battery_ohm": d.log(0.2, 0.8),
        "load_ma": d.log(12.0, 40.0),
        "battery_step_v": float(d.rng.choice((0.001, 0.005, 0.01))),
        "battery_channel": bool(d.rng.random() < 0.75),
        "electrode_kohm": tuple(d.log(5.0, 60.0) for _ in range(3)),
        "rest_uv": d.log(1.2, 4.0),
        "effort_uv": d.log(40.0, 300.0),
        "heart_uv": d.log(150.0, 700.0),
    }


def _operator(rng: np.random.Generator) -> dict[str, Any]:
    lag = float(rng.uniform(-0.35, 0.35))
    return {"lag_s": lag, "jitter_s": tuple(float(j) for j in rng.uniform(-0.15, 0.15, 3))}


def _quiet_enough(setup: Setup, rng: np.random.Generator, spread: float) -> Setup:
    """Set the noise of a sound kit: 0.25 to 0.75 of 2 uV at equal density, a converter that
    resolves it.
    """
    half = 0.25 * min(spread, 1.7)
    target = at_equal_density_uv(setup) * float(
        rng.uniform(max(0.5 - half, 0.1), min(0.5 + half, 0.9))
    )
    # A designer gives the converter a step below the amplifier's noise; else it would not dither.
    while setup.step_uv > 1.5 * target:
        setup = replace(setup, full_scale_uv=float(f"{setup.full_scale_uv * 0.7:.3g}"))
    floor = band_noise_uv(replace(setup, noise_density_nv=0.0))
    return with_noise(setup, max(target, 1.15 * floor))
