"""What stands on the second bench: a kit, the room and the hand, each drawn from wide ranges."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

RATES_HZ = (256.0, 500.0, 512.0, 1000.0, 1024.0, 2000.0, 2048.0, 4000.0)
FINEST_GRID_HZ = 4000.0
BAND_HZ = (20.0, 450.0)
NOISE_LIMIT_UV = 2.0
PICO = 1e-12
VOLT = 1e6


def log_uniform(rng: np.random.Generator, low: float, high: float) -> float:
    """A number whose logarithm is uniform between those of ``low`` and ``high``."""
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


@dataclass(frozen=True)
class FrontEnd:
    """The amplifier up to its converter.

    ``cmrr_in_phase`` and ``cmrr_lagging`` (seconds) are what of a common mode, and of its slope,
    passes for a difference. ``stage_uv`` is the difference at which the first stage stops,
    ``common_uv`` the voltage to ground at which an input does; a stage at its stop passes
    ``pinned_share`` of its noise. ``couples_first``: the high-pass sits before that stage.
    """

    rate_hz: float
    oversampling: int
    input_ohm: float
    input_farad: float
    bias: float
    cmrr_in_phase: float
    cmrr_lagging: float
    common_uv: float
    stage_uv: float
    pinned_share: float
    couples_first: bool
    high_pass_hz: float
    high_pass_order: int
    low_pass_hz: float
    low_pass_order: int
    notch_q: float
    averages: bool
    jitter_s: float
    ground_ohm: float

    @property
    def grid_hz(self) -> float:
        """Rate at which the circuit is solved."""
        return self.rate_hz * self.oversampling


@dataclass(frozen=True)
class Converter:
    """Step, lowest and highest value in microvolts; what the file states of them; zero's place in
    steps.
    """

    step_uv: float
    low_uv: float
    high_uv: float
    states_step: bool
    states_range: bool
    zero: int


@dataclass(frozen=True)
class BenchRoom:
    """Mains of the room and of the body in it; what it induces between the leads; the hand."""

    mains_hz: float
    harmonics: tuple[tuple[int, complex], ...]
    wander: float
    states_mains: bool
    loop_uv: float
    loop_phase: float
    held_gain: float
    body_uv: float
    body_farad: float
    swing_uv: float
    swings_per_s: float
    air_uv: float
    air_farad: float
    near_farad: tuple[float, float, float]
    sway_uv: float
    ground_sway: float
    swing_loop: float
    finger_share: float
    heart_hz: float
    heart_uv: float
    phone: bool
    bumped: bool
    rubbed: bool


@dataclass(frozen=True)
class BareNoise:
    """Noise of the amplifier: its level as a share of the limit, and the corner of its 1/f part."""

    times_limit: float
    corner_hz: float


def draw_front_end(rng: np.random.Generator) -> FrontEnd:
    """An amplifier of no particular make."""
    rate = float(rng.choice(RATES_HZ))
    rejection = 10 ** (-rng.uniform(55, 110) / 20)
    angle = rng.uniform(-np.pi, np.pi)
    high_pass = 0.0 if rng.random() < 0.12 else log_uniform(rng, 0.05, 20)
    return FrontEnd(
        rate_hz=rate,
        oversampling=max(1, round(FINEST_GRID_HZ / rate)),
        input_ohm=log_uniform(rng, 1e7, 1e10),
        input_farad=log_uniform(rng, 15, 250) * PICO,
        bias=float(rng.choice((-1, 1))) * log_uniform(rng, 1e-12, 2e-9) * VOLT,
        cmrr_in_phase=rejection * float(np.cos(angle)),
        cmrr_lagging=rejection * float(np.sin(angle)) / (2 * np.pi * 50),
        common_uv=rng.uniform(0.5, 2.5) * VOLT,
        stage_uv=log_uniform(rng, 0.005, 0.5) * VOLT,
        pinned_share=float(rng.choice((0.0, rng.uniform(0.002, 0.08), rng.uniform(0.3, 1.0)))),
        couples_first=bool(rng.random() < 0.3) and high_pass > 0,
        high_pass_hz=high_pass,
        high_pass_order=int(rng.choice((1, 1, 2))),
        low_pass_hz=min(rng.uniform(0.42, 0.47) * rate, log_uniform(rng, 480, 1500)),
        low_pass_order=int(rng.choice((2, 4, 6))),
        notch_q=rng.uniform(5, 35) if rng.random() < 0.08 else 0.0,
        averages=bool(rng.random() < 0.4),
        jitter_s=log_uniform(rng, 1e-6, 6e-5) if rng.random() < 0.3 else 0.0,
        ground_ohm=log_uniform(rng, 0.5, 1e4),
    )


def draw_converter(rng: np.random.Generator, noise_uv: float) -> Converter:
    """A converter whose step the noise of the kit crosses; a third have a range that is no power
    of two of it.
    """
    step = log_uniform(rng, 0.01, 1.0) * max(noise_uv, 0.15)
    bits = int(np.clip(np.ceil(np.log2(2 * log_uniform(rng, 1.5e3, 2e5) / step)), 10, 24))
    half = 2 ** (bits - 1) * step
    if rng.random() < 0.35:
        half = float(f"{half:.1g}") if rng.random() < 0.5 else half * rng.uniform(0.7, 0.98)
    offset = rng.normal(0, 30 * step)
    return Converter(
        step_uv=step,
        low_uv=-half,
        high_uv=half,
        states_step=bool(rng.random() < 0.6),
        states_range=bool(rng.random() < 0.6),
        zero=round(offset / step),
    )


def draw_room(rng: np.random.Generator) -> BenchRoom:
    """A room, and a hand with 0.1 to 5 V of mains behind 5 to 200 pF."""
    phases = np.exp(1j * rng.uniform(-np.pi, np.pi, 4))
    heights = rng.uniform(0, (0.02, 0.15, 0.1, 0.05))
    harmonics = (
        (1, 1 + 0j),
        *((n, complex(h * p)) for n, h, p in zip((2, 3, 5, 7), heights, phases, strict=True)),
    )
    return BenchRoom(
        mains_hz=float(rng.choice((50.0, 60.0))) + rng.normal(0, 0.02),
        harmonics=harmonics,
        wander=rng.uniform(0, 0.03),
        states_mains=bool(rng.random() < 0.8),
        loop_uv=log_uniform(rng, 0.03, 20),
        loop_phase=rng.uniform(-np.pi, np.pi),
        held_gain=log_uniform(rng, 0.7, 2.5),
        body_uv=log_uniform(rng, 0.1, 5) * VOLT,
        body_farad=log_uniform(rng, 5, 200) * PICO,
        swing_uv=log_uniform(rng, 0.1, 20) * VOLT,
        swings_per_s=rng.uniform(0, 1.0),
        air_uv=log_uniform(rng, 0.02, 2) * VOLT,
        air_farad=log_uniform(rng, 0.2, 5) * PICO,
        near_farad=tuple(log_uniform(rng, 0.3, 10) * PICO for _ in range(3)),
        sway_uv=log_uniform(rng, 6, 120),
        ground_sway=rng.uniform(0.25, 0.8),
        swing_loop=rng.uniform(0, 0.4),
        finger_share=0.35,
        heart_hz=rng.uniform(55, 110) / 60,
        heart_uv=log_uniform(rng, 150, 1500),
        phone=False,
        bumped=False,
        rubbed=False,
    )


def draw_noise(rng: np.random.Generator, low: float = 0.2, high: float = 0.88) -> BareNoise:
    """Noise of a sound amplifier, as a share of the limit in the band judged."""
    return BareNoise(log_uniform(rng, low, high), log_uniform(rng, 0.05, 30))
