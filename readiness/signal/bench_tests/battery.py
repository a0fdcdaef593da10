"""Battery voltage under load: the end of the capture, its sag, and how sure a meter can be of
both.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from readiness.signal.limits import HIGHEST_PER_CELL, Limits
from readiness.signal.statistics.decision import combined_u, conforms_lower_meter, rectangular_u
from readiness.signal.statistics.robust import row_medians

HIGHEST_READING_V = 15.0
"""No pack of a hand-held amplifier gives more; a larger number is millivolts or a typing slip."""


@dataclass(frozen=True)
class Battery:
    """What the battery readings of one capture tell.

    ``end_v`` and ``sag_v`` in volts, ``low_v`` .. ``high_v`` the whole range the meter allows for
    the end voltage, ``meets`` and ``steady`` the probabilities that the end voltage and the sag
    meet their limits, ``too_high`` true when a pack of the declared chemistry cannot read that
    much.
    """

    end_v: float
    low_v: float
    high_v: float
    sag_v: float | None
    meets: float
    steady: float
    too_high: bool


def judge_battery(readings: np.ndarray | None, limits: Limits) -> Battery | None:
    """Judge battery readings under load.

    Parameters
    ----------
    readings : numpy.ndarray or None
        Volts, shape (n,): one header value or a channel over the whole capture.
    limits : Limits
        End voltage, sag, meter and chemistry.

    Returns
    -------
    Battery or None
        ``None`` when there is no reading that can be a battery voltage.
    """
    if readings is None or not len(readings):
        return None
    volts = np.asarray(readings, dtype=float)
    volts = volts[np.isfinite(volts)]
    if not len(volts):
        return None
    parts = min(10, len(volts))
    tenths = row_medians(volts[: len(volts) // parts * parts].reshape(parts, -1))
    end = float(tenths[-1])
    if not 0 < end <= HIGHEST_READING_V:
        return None
    half_width = limits.meter.half_width(end)
    last = volts[-max(1, len(volts) // 10) :]
    scatter = float(np.std(last)) / math.sqrt(len(last))
    sag = float(tenths[0] - tenths.min()) if len(tenths) > 1 else None
    highest = (
        limits.cells * HIGHEST_PER_CELL[limits.chemistry] if limits.chemistry else HIGHEST_READING_V
    )
    return Battery(
        end_v=end,
        low_v=end - half_width,
        high_v=end + half_width,
        sag_v=sag,
        meets=conforms_lower_meter(end, half_width, scatter, limits.battery_limit_v),
        steady=_sag_within(sag, scatter, limits),
        too_high=end - half_width > highest,
    )


def _sag_within(sag: float | None, scatter: float, limits: Limits) -> float:
    """Probability that the sag meets its limit: a difference of two readings of one meter, so its
    gain error falls out.

    What is left is the meter's last digit, once in each reading, and the scatter of both means.
    """
    if sag is None:
        return 1.0
    digit = rectangular_u(limits.meter.digit_v / 2)
    u = combined_u((digit, digit, scatter, scatter))
    return conforms_lower_meter(-sag, limits.meter.digit_v / 2, u, -limits.sag_v)
