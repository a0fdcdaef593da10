"""Whether a capture is the raw signal, or what a program made of it: then it says nothing of the
kit.
"""

from __future__ import annotations

import math

import numpy as np

from readiness.signal.bench_tests.findings import NOTE, finding
from readiness.signal.bench_tests.view import View
from readiness.signal.integrity.made_up import STILL_S, is_one_sided, what_was_made
from readiness.signal.result import Finding
from readiness.signal.spectrum.holes import OwnBand, hole_in_words
from readiness.signal.spectrum.mains import NOMINAL_HZ
from readiness.signal.spectrum.notch import (
    SURE_AMID_HANDS,
    SURE_ELSEWHERE,
    SURE_NOTCH,
    notch_hz,
)
from readiness.signal.statistics.decision import RETEST

NARROW = (
    "Export the raw signal and score it again; if the amplifier itself is so narrow, state its"
    " corners in the test plan"
)
ITS_PLACE = 0.9
"""Share of the mains in its first harmonic; folded mains has next to none there."""
NOTCHES = (
    "Export the raw signal and score it again; if the amplifier itself has a notch, say so in the"
    " test plan"
)


def raw_findings(view: View) -> tuple[Finding, ...]:
    """What was done to the samples between converter and file (``not_raw``); empty where nothing
    shows.
    """
    kind = view.kind
    hums = view.mains.rms_uv > 0.7 * float(view.x.std())
    made = what_was_made(
        view.x,
        view.rate,
        rests=kind.act == "rest",
        hums=hums,
        in_its_place=_hums_in_its_place(view),
    )
    if made:
        return (_finding(made, None),)
    if kind.worn:
        # A muscle's spectrum has a shape of its own.
        return ()
    density = view.limits.noise_in_band(0.0, 1.0) ** 2
    own = OwnBand(view.limits.high_pass_hz, view.limits.low_pass_hz, density)
    hole = hole_in_words(
        view.spectrum, view.rate, own, one_sided=is_envelope(view), rests=kind.act == "rest"
    )
    if hole:
        return (_finding(hole, NARROW),)
    return _notch(view)


def _hums_in_its_place(view: View) -> bool:
    """Whether nearly all of the mains lies in its first harmonic."""
    first = [peak for order, _, peak in view.mains.harmonics if order == 1]
    return bool(first) and first[0] > ITS_PLACE * math.sqrt(2) * view.mains.rms_uv


def _notch(view: View) -> tuple[Finding, ...]:
    """A notch at the mains: the amplifier's own or a program's, as the kit type states. On the
    second post, where little hum is the proof, it takes the proof away.
    """
    rests = view.kind.act == "rest"
    if view.limits.notch or not (rests or view.kind.second_post):
        return ()
    hz = _notch_hz(view)
    if hz is None:
        return ()
    verdict = NOTE if rests and view.limits.notch is None else RETEST
    text = f"A notch has taken out {hz:.0f} Hz, noise and all: little hum proves no ground."
    return (finding("not_raw", verdict, text, action=NOTCHES),)


def is_envelope(view: View) -> bool:
    """Whether all of it keeps to one side of zero, and its still part lies as low as an envelope of
    noise does. Swings of a hand go to both sides.
    """
    if not np.isfinite(view.x).all() or view.x.min() < 0.0 < view.x.max():
        return False
    still = view.x if view.kind.act == "rest" else view.x[: round(STILL_S * view.rate)]
    return is_one_sided(still, view.limits.noise_uv)


def _notch_hz(view: View) -> float | None:
    """Where the mains was taken out, the room's or the other."""
    mains = view.mains
    sure = SURE_NOTCH if view.kind.act == "rest" else SURE_AMID_HANDS
    odds = {
        hz: sure if hz == mains.nominal_hz or not mains.present else max(sure, SURE_ELSEWHERE)
        for hz in NOMINAL_HZ
    }
    return notch_hz(view.x, view.rate, odds)


def _finding(what: str, action: str | None) -> Finding:
    text = f"This is not the raw signal: {what}."
    return finding("not_raw", RETEST, text, action=action)
