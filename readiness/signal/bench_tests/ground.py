"""``ground``: ``flex`` again with 100 kohm between bar and snap A, so that an open ground shows as
hum at once.
"""

from __future__ import annotations

import numpy as np

from readiness.signal.bench_tests.findings import NOTE, finding
from readiness.signal.bench_tests.view import Judgement, View, swings_rail_to_rail
from readiness.signal.counts import counted
from readiness.signal.leads.events import Events, find_events
from readiness.signal.result import Finding, Measurement
from readiness.signal.spectrum.noise import thermal_uv
from readiness.signal.statistics.decision import NOT_FIT, RETEST, score_of

from .baseline import POST_OHM, baseline
from .view import EARLY_HANDS_S

FROM_S = 7.0
"""The ground window opens at 7.5 s; an operator half a second early is in it from here."""
SURE_AFTER_S = 1.0
"""From so much later on a late operator, too, has lead B no more in hand."""
PROVES_UV = 3.0
"""What an open ground gives with the least hand there is: 0.1 V through 5 pF raise a bar of 285 pF
by 1.75 mV, of which 100 kohm before an input of 80 pF turn 1/400 into signal, 3 uV RMS. Of 8,000
hands, bodies and inputs of quiet rooms 0.3 % stay below it, against 7 % below 10 uV.
"""
UNSURE_UV = 100.0
"""A closed ground leaves what the post picks up, some nanoamperes through 100 kohm; an ordinary
room's open ground gives hundreds of microvolts. Above this neither is sure, and the test says so.
"""
POST_NOISE = "noise_on_post"
QUIETER = 0.7
"""Two frames give the noise to a tenth; a soft band limit takes as much again."""
BEYOND_UV = 3000.0
"""The post lets hum of up to a millivolt in (ten nanoamperes through 100 kohm); three are an open
input.
"""


def judge(view: View) -> Judgement:
    """Judge the ground window alone: the resistor makes the other two windows hum by themselves."""
    abnormal = _railed(view) or _ordinary_post(view) or baseline(view)
    if abnormal:
        return Judgement(findings=(abnormal,))
    events = find_events(view.trace, view.kind.spans, view.still_lines_uv)
    early = [event for event in events.events if event.end_s <= EARLY_HANDS_S]
    in_window = [event for event in events.events if event.end_s > FROM_S]
    highest = max((event.size_uv for event in in_window), default=0.0)
    row = Measurement("abrupt_peak", highest, "uV", limit=events.threshold_uv)
    post = Measurement(POST_NOISE, view.still_noise_uv, "uV")
    if early:
        bursts = counted(len(early), "abrupt burst", "abrupt bursts")
        text = f"{bursts} before any lead was flexed: not by the flexing."
        return Judgement((finding("burst_noise", RETEST, text),), measurements=(row,))
    if not in_window:
        return _quiet(view, events, (row, post))
    times = counted(len(in_window), "time", "times")
    sure = any(event.start_s >= FROM_S + SURE_AFTER_S for event in in_window)
    opens = finding(
        "intermittent_lead",
        NOT_FIT if sure else RETEST,
        f"Hum jumps {times}, by up to {highest:.0f} uV, while the ground lead is flexed.",
        lead="ground" if sure else None,
    )
    continuity = score_of(events.conforms) if sure else None
    return Judgement((opens,), continuity, measurements=(row,), events=events.events)


def _railed(view: View) -> Finding | None:
    """What stands against judging at all: a trace at its end, or more hum than the post lets in."""
    hum = view.still_hum_uv
    railed = float(np.median(view.trace.railed)) > 0.02
    if railed and not swings_rail_to_rail(view):
        text = "The trace stands at the end of its range before the ground is touched."
        return finding("open_lead", RETEST, text, action="Run the lift test: it names the lead")
    if railed or hum > BEYOND_UV:
        text = (
            f"Hum of {hum:.0f} uV before the ground is touched: more than the second post lets in."
        )
        return finding("bench_interference", RETEST, text)
    return None


def _ordinary_post(view: View) -> Finding | None:
    """Less noise than the second post's resistor has by itself: the lead was not on it."""
    low, high = view.band_hz
    passed = min(high, view.limits.low_pass_hz or high) - max(low, view.limits.high_pass_hz or low)
    thermal = thermal_uv(POST_OHM, max(passed, 0.0))
    if view.still_noise_uv >= QUIETER * thermal:
        return None
    text = (
        f"The still part has {view.still_noise_uv:.2f} uV RMS of noise; the 100 kohm of the second"
        f" post alone give {thermal:.2f} uV: lead A was on the ordinary post."
    )
    return finding("wrong_post", RETEST, text)


def _quiet(view: View, events: Events, rows: tuple[Measurement, ...]) -> Judgement:
    """No jump was seen: the ground is closed, unless steady hum says that it may be open."""
    hum = view.still_hum_uv
    return Judgement(
        _unproven(hum),
        continuity=score_of(1.0) if hum < UNSURE_UV else None,
        measurements=rows,
        proven=("ground",) if hum < PROVES_UV else (),
        events=events.events,
    )


def _unproven(hum_uv: float) -> tuple[Finding, ...]:
    """No jump was seen, but steady hum may be that of a ground that was open all the time."""
    if hum_uv < PROVES_UV:
        return ()
    return (
        finding(
            "lead_unproven",
            NOTE if hum_uv < UNSURE_UV else RETEST,
            f"Steady hum of {hum_uv:.0f} uV on the second post: the room, or a ground that is open"
            " all the time.",
            lead="ground",
            action=(
                "Run the lift test with the bar held in the bare hand, beside a mains cable where"
                " the room is quiet: it proves the ground"
            ),
        ),
    )
