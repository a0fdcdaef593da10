"""Sound recordings brought down to a rate that captures have.

A filter of linear phase is laid over the samples where one of the lower rate stands, so nothing is
late. It passes all below 0.4 of the lower rate unchanged, and what would fold back into that band
falls by more than 100 dB; noise keeps its density there, and the judged band ends far below.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

HIGHEST_RATE_HZ = 5000.0
"""Two kilohertz of passband: more than four times the judged band."""
PASS_SHARE = 0.4
"""Of the lower rate; the stopband begins where what folds back would meet the passband."""
BETA = 10.06
"""Kaiser's window for 100 dB: 0.1102 (A - 8.7) (Kaiser 1974)."""
LENGTH_FACTOR = (100.0 - 7.95) / 14.36
"""Taps times transition width in cycles a sample, by the same rule."""


@dataclass(frozen=True)
class Decimation:
    """How samples of ``from_hz`` become fewer; ``factor`` of them make one."""

    from_hz: float

    @cached_property
    def factor(self) -> int:
        """Samples that make one."""
        return math.ceil(self.from_hz / HIGHEST_RATE_HZ)

    @property
    def rate_hz(self) -> float:
        """The lower rate."""
        return self.from_hz / self.factor

    @cached_property
    def taps(self) -> np.ndarray:
        """The filter; shape (2 h + 1,), their sum 1."""
        cutoff = 0.5 / self.factor
        width = 2.0 * (0.5 - PASS_SHARE) / self.factor
        half = math.ceil(0.5 * LENGTH_FACTOR / width)
        at = np.arange(-half, half + 1)
        taps = 2.0 * cutoff * np.sinc(2.0 * cutoff * at) * np.kaiser(2 * half + 1, BETA)
        return taps / taps.sum()

    def apply(self, samples: np.ndarray) -> np.ndarray:
        """Every ``factor``-th sample, filtered; shape (ceil(n / factor),).

        Beyond the ends the trace is turned over about its end point, so that an offset makes no
        step there. NaN spreads as far as the filter reaches.
        """
        if len(samples) < 2:
            return samples
        half = len(self.taps) // 2
        padded = np.pad(samples, half, mode="reflect", reflect_type="odd")
        count = -(-len(samples) // self.factor)
        total = np.zeros(count)
        for phase in range(self.factor):
            own = self.taps[phase :: self.factor]
            part = padded[phase :: self.factor]
            total += np.correlate(part, own, mode="valid")[:count]
        return total
