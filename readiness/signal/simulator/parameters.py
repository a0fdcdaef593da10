"""Free parameters of the simulator, and how they are drawn."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from readiness.signal.simulator.hand import Hand

FULL_BAND_HZ = (20.0, 450.0)
NOISE_UNIT_UV = 2.0
"""Over the full band, RMS: sound kits and excess noise are drawn as multiples of it."""


@dataclass(frozen=True)
class Setup:
    """One kit on one bench with one operator. Units stand in the names.

    Sizes of displacement currents follow Huhta and Webster, IEEE Trans. Biomed. Eng. 20 (1973)
    91-101, and MettingVanRijn, Peper and Grimbergen, Med. Biol. Eng. Comput. 28 (1990) 389-397
    (both from memory): some nanoampere into an unshielded lead, some tenths of a microampere into a
    body. The other ranges are common practice for battery-fed two-lead amplifiers, no published
    source.
    """

    # Converter and amplifier
    rate_hz: float = 1024.0
    bits: int = 16
    full_scale_uv: float = 5000.0  # +- this, referred to the input
    noise_density_nv: float = 35.0  # white, per square root of hertz
    flicker_corner_hz: float = 5.0
    second_stage_nv: float = 3.0  # noise that enters behind the first stage, referred to the input
    high_pass_hz: float = 1.0  # 0: coupled to direct voltage
    low_pass_hz: float = 400.0
    low_pass_order: int = 4
    offset_uv: float = 0.0
    stage_range_mv: float = 200.0  # first stage reaches its stop here
    stopped_gain: float = 0.03  # what a first stage at its stop still passes
    supply_mv: float = 1500.0  # inputs are clamped here
    # Inputs, leads, bar
    cmrr_db: float = 95.0
    cmrr_phase_deg: float = 40.0
    input_mohm: float = 300.0
    input_pf: float = 80.0
    input_mismatch: float = 0.03
    bias_pa: float = 20.0
    lead_kohm: tuple[float, float] = (2.0, 2.05)
    ground_kohm: float = 1.0
    bar_ohm: float = 0.1
    temperature_k: float = 298.15
    # Room
    room: str = "ordinary"
    mains_hz: float = 50.0
    mains_offset_hz: float = 0.0
    mains_drift_hz_s: float = 0.0
    mains_sway: float = 0.02
    harmonics: tuple[float, ...] = (1.0, 0.05, 0.15, 0.02, 0.08, 0.01, 0.05, 0.01, 0.03)
    lead_na: float = 1.0  # displacement current into an unshielded lead
    bar_na: float = 1.0  # into the bar and its leads while nobody touches it
    body_na: float = 100.0  # into a person who holds the bar
    body_pf: float = 120.0  # from that person to the amplifier's ground
    loop_uv: float = 0.3  # induced into the loop of the two leads
    hand: Hand = field(default_factory=Hand)
    # Movement
    movement_uv: float = 20.0  # RMS while a sound lead is flexed
    movement_hz: float = 4.0
    # Wearing
    electrode_kohm: tuple[float, float, float] = (20.0, 25.0, 20.0)
    rest_uv: float = 1.6
    effort_uv: float = 120.0
    heart_uv: float = 300.0
    # Battery
    chemistry: str = "alkaline"
    emf_v: float = 3.0
    battery_ohm: float = 0.5
    load_ma: float = 25.0
    battery_step_v: float = 0.005
    battery_channel: bool = True  # else one value in the header
    # Operator: every change comes late by ``lag_s`` and in this order
    lag_s: float = 0.0
    jitter_s: tuple[float, float, float] = (0.0, 0.0, 0.0)
    order: tuple[str, str, str] = ("A", "B", "ground")
    seed: int = 0

    @property
    def step_uv(self) -> float:
        """Converter step in microvolts: the whole range over the number of codes."""
        return 2.0 * self.full_scale_uv / 2.0**self.bits

    @property
    def band_hz(self) -> tuple[float, float]:
        """The band in which noise is stated: 20 Hz to 450 Hz, or to 0.4 of a low rate."""
        return FULL_BAND_HZ[0], min(FULL_BAND_HZ[1], 0.4 * self.rate_hz)


def amplifier_gain(setup: Setup, freq_hz: np.ndarray) -> np.ndarray:
    """Complex response of the band limits, shape of ``freq_hz``.

    Second-order Butterworth high-pass (row N20: gain 1/sqrt(1 + (fc/f)^2n)) and an n-pole
    Butterworth low-pass.
    """
    s = 1j * np.asarray(freq_hz, dtype=float)
    gain = np.ones_like(s)
    order = setup.low_pass_order
    for k in range(order):
        pole = setup.low_pass_hz * np.exp(1j * np.pi * (2 * k + order + 1) / (2 * order))
        gain = gain * (-pole) / (s - pole)
    if setup.high_pass_hz > 0:
        gain = gain * s**2 / (s**2 + np.sqrt(2.0) * setup.high_pass_hz * s + setup.high_pass_hz**2)
    return gain


def band_noise_uv(setup: Setup, band_hz: tuple[float, float] | None = None) -> float:
    """True noise of the sound kit on the bar, RMS in microvolts in ``band_hz`` (default: the
    set-up's band).

    Sum in quadrature (row N6) of amplifier noise e^2 (1 + fc/f), thermal noise 4kTR of both leads
    and the bar (row N2), the second stage, all through the band limits with what folds back at the
    sampling rate, and quantisation LSB^2/12 spread evenly to half the rate (row N5).
    """
    low, high = band_hz or setup.band_hz
    freq = np.linspace(low, high, 2001)
    analogue = np.zeros_like(freq)
    for images in range(3):
        for sign in (1, -1) if images else (1,):
            f = np.abs(images * setup.rate_hz + sign * freq)
            density = (
                setup.noise_density_nv**2 * (1 + setup.flicker_corner_hz / f)
                + thermal_density_nv(setup) ** 2
            )
            analogue += (density + setup.second_stage_nv**2) * np.abs(amplifier_gain(setup, f)) ** 2
    quantisation = setup.step_uv**2 / 12 * (high - low) / (setup.rate_hz / 2)
    return float(np.sqrt(np.trapezoid(analogue, freq) * 1e-6 + quantisation))


def thermal_density_nv(setup: Setup) -> float:
    """Thermal noise of lead A, bar and lead B in series, nV per square root of hertz: sqrt(4 k T
    R).
    """
    return thermal_nv(1e3 * sum(setup.lead_kohm) + setup.bar_ohm, setup.temperature_k)


def thermal_nv(ohm: float, kelvin: float) -> float:
    """Thermal noise of a resistance, nV per square root of hertz: sqrt(4 k T R) (row N2)."""
    return 1e9 * float(np.sqrt(4 * 1.380649e-23 * kelvin * ohm))


def with_noise(setup: Setup, noise_uv: float) -> Setup:
    """The same set-up with its amplifier noise density set so that ``band_noise_uv`` is
    ``noise_uv`` (microvolts).

    Raises ValueError when thermal noise and quantisation alone are above ``noise_uv``.
    """
    silent = band_noise_uv(replace(setup, noise_density_nv=0.0))
    unit = band_noise_uv(replace(setup, noise_density_nv=1.0))
    left = noise_uv**2 - silent**2
    if left <= 0:
        raise ValueError(
            f"noise of {noise_uv} uV is below the {silent:.4f} uV of leads and converter"
        )
    return replace(setup, noise_density_nv=float(np.sqrt(left / (unit**2 - silent**2))))


def at_equal_density_uv(setup: Setup, full_band_uv: float = NOISE_UNIT_UV) -> float:
    """White noise of so many microvolts RMS over 20 to 450 Hz, in the set-up's band."""
    low, high = setup.band_hz
    full_low, full_high = FULL_BAND_HZ
    return full_band_uv * float(np.sqrt((high - low) / (full_high - full_low)))
