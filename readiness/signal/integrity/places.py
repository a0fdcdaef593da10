"""Places of a capture, in words."""

from __future__ import annotations

from gettext import ngettext

import numpy as np

from readiness.signal.capture import PLACES_NAMED


def places(indices: np.ndarray, rate_hz: float) -> str:
    """``"at 1.25 s, 3.5 s and 4 more places"`` for sample indices."""
    times = ", ".join(f"{index / rate_hz:.4g} s" for index in indices[:PLACES_NAMED])
    unnamed = len(indices) - PLACES_NAMED
    if unnamed <= 0:
        return f"at {times}"
    places_more = ngettext("more place", "more places", unnamed)
    return f"at {times} and {unnamed} {places_more}"
