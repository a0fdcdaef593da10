"""Places of a capture, in words."""

from __future__ import annotations

import numpy as np

from readiness.signal.capture import PLACES_NAMED
from readiness.signal.counts import counted


def places(indices: np.ndarray, rate_hz: float) -> str:
    """``"at 1.25 s, 3.5 s and 4 more places"`` for sample indices."""
    times = ", ".join(f"{index / rate_hz:.4g} s" for index in indices[:PLACES_NAMED])
    unnamed = len(indices) - PLACES_NAMED
    if unnamed <= 0:
        return f"at {times}"
    return f"at {times} and {counted(unnamed, 'more place', 'more places')}"
