"""``worn``: no bar at hand; worn on both wrists, relaxed, then fists clenched. A weaker test, and
said so.
"""

from __future__ import annotations

import math

import numpy as np

from readiness.signal.bench_tests.findings import NOTE, finding
from readiness.signal.bench_tests.view import Judgement, View
from readiness.signal.result import Finding, Measurement
from readiness.signal.statistics.decision import NOT_FIT, RETEST

REST_S, WORK_S = (0.5, 4.25), (5.75, 9.5)
OPEN_HUM_UV = 2000.0
"""Worn electrodes of tens of kilohms hum less (nanoamperes through them); more is an input that
floats.
"""
RESPONDS = 3.0
"""A clenched fist gives tens of times the resting muscle (common practice); threefold leaves room
for a weak one.
"""


def judge(view: View) -> Judgement:
    """Response ratio of muscle to rest; proves both active leads together, never the ground, never
    the noise floor.
    """
    rest, work = (_muscle(view, *part) for part in (REST_S, WORK_S))
    ratio = work / max(rest, 1e-6)
    rows = (
        Measurement("muscle_rest", rest, "uV"),
        Measurement("muscle_work", work, "uV"),
        Measurement("response_ratio", min(ratio, 1e6), "ratio", None, None, RESPONDS),
    )
    findings = _findings(view, rest, work, ratio)
    proven = ("A", "B") if ratio >= RESPONDS and not findings else ()
    continuity = 100.0 if proven else None
    if any(finding.verdict == NOT_FIT for finding in findings):
        continuity = 0.0
    return Judgement((*findings, _weaker()), continuity, measurements=rows, proven=proven)


def _muscle(view: View, start_s: float, end_s: float) -> float:
    """Signal of the quieter quarter seconds between two times, uV RMS: a heart beats in fewer than
    half of them.

    Taken above 40 to 80 Hz, where muscle is strong; taking mains out raises white noise by the root
    of 3/2.
    """
    trace = view.trace
    return float(np.quantile(trace.noise[trace.segments(start_s, end_s)], 0.3)) / math.sqrt(1.5)


def _findings(view: View, rest: float, work: float, ratio: float) -> tuple[Finding, ...]:
    trace = view.trace
    railed = float(np.median(trace.railed)) > 0.02
    if railed or (float(np.median(trace.hum_rms)) > OPEN_HUM_UV and ratio < RESPONDS):
        return (
            finding(
                "open_lead",
                RETEST,
                "The input hums or stands at its end: a lead is open or lies loose.",
                action="Press the electrodes on the skin and test again",
            ),
        )
    if work < view.floor_uv:
        return (
            finding(
                "dead_channel",
                NOT_FIT,
                "The trace is quieter than a working input can be, at rest and at work.",
            ),
        )
    if work < view.limit_uv and ratio < 1.3:
        # A fist that is not clenched is as quiet as a short; only lifted leads tell them apart.
        text = (
            "Neither clenching nor skin shows: the fists were not clenched, or the leads touch"
            " inside the cable."
        )
        action = (
            "Clench hard from the call on and test again; if nothing shows, run lift on the bar"
        )
        return (finding("lead_unproven", RETEST, text, action=action),)
    if ratio < RESPONDS:
        text = (
            f"Clenching raises the signal {ratio:.1f}-fold, not {RESPONDS:.0f}-fold: the leads are"
            " not proven."
        )
        return (
            finding(
                "lead_unproven",
                RETEST,
                text,
                action="Wear the electrodes anew, clench harder, test again",
            ),
        )
    return ()


def _weaker() -> Finding:
    return finding(
        "lead_unproven",
        NOTE,
        "Worn on the wrists, a test cannot prove the ground lead or the noise floor.",
        lead="ground",
        action="Run still, flex and lift on the bar to clear this kit",
    )
