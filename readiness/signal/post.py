"""Whether a ``ground`` was recorded on the second post: its resistor must show over the kit's
``still``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from .bench_tests.baseline import POST_OHM
from .bench_tests.findings import finding
from .bench_tests.ground import POST_NOISE
from .limits import FULL_BAND_HZ, Limits
from .result import Finding, Measurement, Result
from .spectrum.noise import thermal_uv
from .statistics.decision import RETEST

SHOWN = 0.6
"""Share of the resistor's noise power that must be possible: amplifiers' soft ends of the band take
up to a third.
"""
STILL_S = 1.6
SURE = 3.0


def wrong_post(results: Mapping[str, Result]) -> Finding | None:
    """The finding on a ``ground`` that is no noisier than the ``still`` of the same kit, though
    100 kohm give 40 nV per root hertz (Nyquist 1928); ``None`` where it may be.
    """
    still, ground = results.get("still"), results.get("ground")
    if still is None or ground is None:
        return None
    bare, held_uv = _floor(still), ground.value_of(POST_NOISE)
    if bare is None or held_uv is None or bare.limit is None:
        return None
    # The limit is kept at equal density: it tells how wide the judged band was.
    usual = Limits().noise_uv
    full = FULL_BAND_HZ[1] - FULL_BAND_HZ[0]
    width_hz = min(full, full * (bare.limit / usual) ** 2)
    thermal = thermal_uv(POST_OHM, width_hz) ** 2
    shown = (held_uv**2 - bare.value**2) / thermal
    spread = 1.3 * math.sqrt(1.0 / (width_hz * STILL_S)) * held_uv**2 / thermal
    if shown + SURE * spread >= SHOWN:
        return None
    text = (
        f"Noise of {held_uv:.2f} uV RMS on the second post, {bare.value:.2f} uV in still: the 100"
        f" kohm of that post would add {math.sqrt(thermal):.2f} uV. Lead A was on the ordinary"
        " post."
    )
    return finding("wrong_post", RETEST, text)


def _floor(still: Result) -> Measurement | None:
    rows = (row for row in still.measurements if row.name == "noise_full_band")
    return next(rows, None)
