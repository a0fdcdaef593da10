"""Limits a kit is judged against, and the one year-stamp of the method that judged it."""

from __future__ import annotations

import math
from dataclasses import dataclass

METHOD_VERSION = "1.7"
"""Goes up whenever a verdict could change for the same capture; stored with every result."""

FULL_BAND_HZ = (20.0, 450.0)
"""Inside every surface-EMG recommendation read (ISEK 1999, SENIAM): movement sits below, little
muscle above.
"""
TRAINING_BAND_HZ = (100.0, 200.0)
"""The band the training software shows."""
SLOW_BAND_HZ = (2.0, 20.0)
"""Below the judged band: drift of a bad contact, of an open input and of worn electrodes shows here
first.
"""
MIN_JUDGED_BAND_HZ = 40.0
"""A band narrower than this holds too few one-hertz bins to be called a noise floor (common
practice, no source).
"""


def judged_band_hz(rate_hz: float) -> tuple[float, float]:
    """The band a noise floor is judged over: 20 Hz to 450 Hz, or to 0.4 of the sampling rate."""
    return FULL_BAND_HZ[0], min(FULL_BAND_HZ[1], 0.4 * rate_hz)


END_VOLTAGE_PER_CELL = {"alkaline": 1.25, "nimh": 1.20, "lithium": 1.40}
"""Volts per cell under the amplifier's load. Common practice, no published source; NiMH: nominal of
IEC 61951-2.
"""
HIGHEST_PER_CELL = {"alkaline": 1.65, "nimh": 1.45, "lithium": 1.85}
"""A cell of that chemistry cannot read more (NiMH: end of a 0.1 C charge, maker's sheet; others
from memory).
"""


@dataclass(frozen=True)
class Meter:
    """What a voltmeter may be wrong by: ``percent`` of reading plus ``digits`` of ``digit_v``
    volts, rectangular.
    """

    percent: float = 0.5
    digits: float = 2.0
    digit_v: float = 0.01

    def half_width(self, volts: float) -> float:
        """Half-width of the rectangular error of a reading, in volts."""
        return abs(volts) * self.percent / 100 + self.digits * self.digit_v


@dataclass(frozen=True)
class Limits:
    """Limits of a kit type (or of one kit).

    Attributes
    ----------
    noise_uv : float
        Highest noise floor allowed over 20-450 Hz, microvolts RMS. Scaled at equal density to a
        narrower band.
    battery_v : float
        Lowest end voltage under load, volts; used as it stands when ``chemistry`` is ``None``.
    chemistry : str or None
        ``alkaline``, ``nimh`` or ``lithium``; then ``cells`` times the end voltage of that
        chemistry is the limit.
    sag_v : float
        Largest fall of the battery voltage during the ten seconds, volts (50 mV a cell: common
        practice).
    usual_noise_uv : float or None
        Noise floor of this kit's first good captures over 20-450 Hz; 0.4 of it is then the lower
        bound.
    high_pass_hz : float or None
        Corner of the amplifier's high-pass where the kit type states it, hertz; 0 for none.
    low_pass_hz : float or None
        Corner of the amplifier's low-pass where the kit type states it, hertz. Above it nothing is
        missed in a capture.
    notch : bool or None
        Whether the amplifier itself takes the mains out, where the kit type states it: then the
        second post proves no ground.
    hum_uv : float
        Mains amplitude (RMS, all harmonics) above which a capture on the bar is not judged. What
        stays hidden behind hum is a third of it (``leads.events.SWAY``): 80 uV at this limit,
        where a contact that opens gives millivolts.
    mains_hz : float or None
        Mains frequency where neither file nor operator says it.
    loan_days : int or None
        How long the pack must last; shown beside the voltage, never turned into a percentage.
    """

    noise_uv: float = 2.0
    battery_v: float = 2.5
    chemistry: str | None = None
    cells: int = 2
    sag_v: float = 0.1
    usual_noise_uv: float | None = None
    high_pass_hz: float | None = None
    low_pass_hz: float | None = None
    notch: bool | None = None
    hum_uv: float = 250.0
    mains_hz: float | None = None
    meter: Meter = Meter()
    loan_days: int | None = None

    def __post_init__(self) -> None:
        for name in ("noise_uv", "battery_v", "sag_v", "hum_uv"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0):
                raise ValueError(f"{name} is {value!r}, a limit is a number above zero")
        if self.high_pass_hz is not None and not 0 <= self.high_pass_hz < FULL_BAND_HZ[1]:
            raise ValueError(f"high_pass_hz is {self.high_pass_hz!r}, a corner lies from 0 on")
        if self.low_pass_hz is not None and not self.low_pass_hz > (self.high_pass_hz or 0.0):
            raise ValueError(
                f"low_pass_hz is {self.low_pass_hz!r}, a low-pass lies above the high-pass"
            )
        if self.chemistry is not None and self.chemistry not in END_VOLTAGE_PER_CELL:
            raise ValueError(
                f"chemistry {self.chemistry!r} is none of {', '.join(END_VOLTAGE_PER_CELL)}"
            )

    @property
    def battery_limit_v(self) -> float:
        """The voltage the pack must still have, in volts."""
        if self.chemistry is None:
            return self.battery_v
        return self.cells * END_VOLTAGE_PER_CELL[self.chemistry]

    def noise_in_band(self, low_hz: float, high_hz: float) -> float:
        """The noise limit scaled at equal density to ``low_hz`` .. ``high_hz``, in microvolts
        RMS.
        """
        return self.noise_uv * math.sqrt((high_hz - low_hz) / (FULL_BAND_HZ[1] - FULL_BAND_HZ[0]))

    def noise_in_words(self, low_hz: float, high_hz: float) -> str:
        """The noise limit as the plan states it and, where the band is narrower, what it is
        there.
        """
        whole = f"{self.noise_uv:.2f} uV over the whole band"
        if (low_hz, high_hz) == FULL_BAND_HZ:
            return whole
        there = self.noise_in_band(low_hz, high_hz)
        return f"{whole} is {there:.2f} uV over {low_hz:.0f} to {high_hz:.0f} Hz"
