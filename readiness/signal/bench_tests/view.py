"""A capture made ready for judging: its mains, spectrum and trace, each worked out once and only
when asked for.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from readiness.signal.capture import Recording
from readiness.signal.catalogue import CATALOGUE, TestKind
from readiness.signal.leads.events import STILL_S
from readiness.signal.leads.places import heights_uv
from readiness.signal.leads.trace import Trace, trace_of
from readiness.signal.limits import FULL_BAND_HZ, MIN_JUDGED_BAND_HZ, Limits, judged_band_hz
from readiness.signal.result import AbruptEvent, Finding, Measurement
from readiness.signal.spectrum.line_removal import LineFits
from readiness.signal.spectrum.mains import Mains, find_mains
from readiness.signal.spectrum.noise import (
    SOURCE_OHM,
    Spectrum,
    band_rms,
    quantisation_uv,
    spectrum,
    thermal_uv,
)
from readiness.signal.statistics.robust import median

OFFSET_UV = 25_000.0
"""Inputs on one bar differ by the amplifier's own offset only: some millivolts (common practice: 5
to 10).
"""
PICKS_UP_UV = 20.0
"""Hum of a bar in the room stays below this in most rooms (common practice); more of it together
with noise or drift is an input that picks up through megohms.
"""
USUAL_SHARE = 0.4
"""A first stage at its stop passes a few per cent of its noise; a sound kit never falls to this
share of its own.
"""
EARLY_HANDS_S = 1.9
"""From here on a hand may be on a lead: an operator half a second early begins at 2.0 s. What comes
before is not a flexed or lifted lead.
"""

STAYS = 0.01
"""Share of the samples that a trace driven to both ends of its range spends at each."""


@dataclass(frozen=True)
class Judgement:
    """What one bench test says: findings, scores by aspect, measurements, leads proven, events for
    the plot.
    """

    findings: tuple[Finding, ...] = ()
    continuity: float | None = None
    noise: float | None = None
    measurements: tuple[Measurement, ...] = ()
    proven: tuple[str, ...] = ()
    events: tuple[AbruptEvent, ...] = ()


@dataclass(eq=False)
class View:
    """A capture, its limits, and what every bench test needs of it. ``x`` is in microvolts,
    finite.
    """

    capture: Recording
    limits: Limits
    test: str
    x: np.ndarray = field(init=False)
    rate: float = field(init=False)

    def __post_init__(self) -> None:
        self.x = self.capture.emg.samples
        self.rate = float(self.capture.rate_hz)

    @cached_property
    def mains(self) -> Mains:
        """The mains as this capture shows it, whatever frequency was declared: where lifted leads
        drown every line, as the still part at its head shows it.
        """
        declared_hz = self.capture.mains_hz or self.limits.mains_hz
        whole = find_mains(self.x, self.rate, declared_hz)
        if whole.present or self.kind.act == "rest":
            return whole
        head = find_mains(self.x[: round(EARLY_HANDS_S * self.rate)], self.rate, declared_hz)
        return replace(head, stray_hz=whole.stray_hz) if head.present else whole

    @cached_property
    def spectrum(self) -> Spectrum:
        """Spectrum of the whole capture, mains taken out."""
        return spectrum(self.x, self.rate, self.mains.lines_hz, self._fits)

    @cached_property
    def _fits(self) -> LineFits:
        """What fits this capture's lines, in whichever of its spectra."""
        return LineFits(round(self.rate))

    @cached_property
    def trace(self) -> Trace:
        """The capture in time, mains and movement taken out."""
        return trace_of(self.x, self.rate, self.mains, self.capture.emg.full_scale)

    @cached_property
    def heights_uv(self) -> dict[str, float]:
        """How far each lead's part of a lift moves the trace (see ``leads.places``)."""
        return heights_uv(self.trace)

    @property
    def kind(self) -> TestKind:
        """The definition of the bench test this capture was made for."""
        return CATALOGUE[self.test]

    @property
    def band_hz(self) -> tuple[float, float]:
        """The judged band at this rate."""
        return judged_band_hz(self.rate)

    @property
    def band_wide_enough(self) -> bool:
        """Whether the rate leaves a band that can be judged."""
        return self.band_hz[1] - self.band_hz[0] >= MIN_JUDGED_BAND_HZ

    @property
    def limit_uv(self) -> float:
        """The noise limit carried to the judged band at equal density."""
        return self.limits.noise_in_band(*self.band_hz)

    @property
    def limit_words(self) -> str:
        """The noise limit of the plan, and what it is in the judged band."""
        return self.limits.noise_in_words(*self.band_hz)

    @property
    def floor_uv(self) -> float:
        """Below this nothing real can be: thermal noise of the source and the converter's rounding,
        or 0.4 of usual.
        """
        width = self.band_hz[1] - self.band_hz[0]
        step = self.capture.emg.resolution or 0.0
        physical = math.hypot(
            thermal_uv(SOURCE_OHM, width), quantisation_uv(step, width, self.rate)
        )
        usual = (
            USUAL_SHARE
            * (self.limits.usual_noise_uv or 0.0)
            * math.sqrt(width / (FULL_BAND_HZ[1] - FULL_BAND_HZ[0]))
        )
        return max(physical, usual)

    @cached_property
    def still_noise_uv(self) -> float:
        """Noise floor before any hand moves, microvolts RMS in the judged band: rough, from two
        frames.
        """
        return band_rms(self.still_spectrum, *self.band_hz)

    @cached_property
    def still_spectrum(self) -> Spectrum:
        """Spectrum of the first 1.6 seconds: an operator who is early by a second has not begun
        yet.
        """
        still = self.x[: round(1.6 * self.rate)]
        return spectrum(still, self.rate, self.mains.lines_hz, self._fits)

    @cached_property
    def still_lines_uv(self) -> float:
        """RMS of all mains harmonics before any hand moves: what the spectrum holds with them, less
        without.
        """
        spectrum = self.still_spectrum
        lines = ~spectrum.usable
        lines[0] = False
        return math.sqrt(
            max(0.0, float(np.sum((spectrum.raw - spectrum.density)[lines])) * spectrum.step_hz)
        )

    @cached_property
    def still_hum_uv(self) -> float:
        """RMS of the first odd mains harmonics in the still part."""
        return median(self.trace.hum_rms[self.trace.segments(*STILL_S)])


def swings_rail_to_rail(view: View) -> bool:
    """Whether the trace reaches both ends of its range: an input that swings with the room, not one
    that is stuck.

    Where no range is declared its extremes are ends only if it stays at both.
    """
    x = view.x
    lowest, highest = float(x.min()), float(x.max())
    low, high = view.capture.emg.full_scale or (lowest, highest)
    margin = 1e-3 * (high - low)
    if view.capture.emg.full_scale is None:
        at_ends = (np.mean(x <= low + margin), np.mean(x >= high - margin))
        return bool(min(at_ends) > STAYS)
    return lowest <= low + margin and highest >= high - margin
