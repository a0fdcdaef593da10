"""The decimals that numbers were written with, told from the numbers."""

from __future__ import annotations

import numpy as np

PROBED = 200
"""So many of the values are looked at."""
FINEST_DECIMALS = 9


def written_step(values: np.ndarray) -> float:
    """Smallest decimal step (1, 0.1, ... 1e-9) on which up to ``PROBED`` of ``values`` lie; 1e-10
    where none fits.
    """
    probe = values[:: max(1, len(values) // PROBED)]
    probe = probe[np.isfinite(probe)]
    for decimals in range(FINEST_DECIMALS + 1):
        scaled = probe * 10.0**decimals
        off = np.abs(scaled - np.rint(scaled))
        if np.all(off <= 1e-4 + 1e-15 * np.abs(scaled)):
            return 10.0**-decimals
    return 1e-10
