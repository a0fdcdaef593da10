"""``ground``: ``flex`` again with 100 kohm between bar and snap A, so that an open ground shows as
hum at once.
"""

from __future__ import annotations

import numpy as np

from readiness.signal.bench_tests.findings import NOTE, Finding, finding
from readiness.signal.bench_tests.view import Judged, Measurement, View, swings_rail_to_rail
from readiness.signal.leads.events import find_events
from readiness.signal.statistics.decision import NOT_FIT, RETEST, score_of

from .baseline import baseline
from .flex import STILL_END_S

FROM_S = 7.0
"""The ground window opens at 7.5 s; an operator half a second early is in it from here."""
PROVES_UV = 10.0
"""With an open ground a body's hum, some nanoamperes at the least, raises the bar by tens of
millivolts, of which 100 kohm before an input of at most 100 megohm turn a thousandth into signal.
Less than that: it is closed.
"""
UNSURE_UV = 100.0
"""A closed ground leaves what the post picks up, some nanoamperes through 100 kohm; an ordinary
room's open ground gives hundreds of microvolts. Above this neither is sure, and the test says so.
"""
BEYOND_UV = 3000.0
"""The post lets hum of up to a millivolt in (ten nanoamperes through 100 kohm); three are an open
input.
"""


def judge(view: View) -> Judged:
    """Judge the ground window alone: the resistor makes the other two windows hum by themselves."""
    hum = view.still_hum_uv
    railed = float(np.median(view.trace.railed)) > 0.02
    if railed and not swings_rail_to_rail(view):
        text = "The trace stands at the end of its range before the ground is touched."
        return Judged(
            findings=(
                finding("open_lead", RETEST, text, action="Run the lift test: it names the lead"),
            )
        )
    if railed or hum > BEYOND_UV:
        text = (
            f"Hum of {hum:.0f} uV before the ground is touched: more than the second post lets in."
        )
        return Judged(findings=(finding("bench_interference", RETEST, text),))
    abnormal = baseline(view)
    if abnormal:
        return Judged(findings=(abnormal,))
    found = find_events(view.trace, view.test, view.still_lines_uv)
    early = tuple(event for event in found.events if event.end_s <= STILL_END_S)
    seen = tuple(event for event in found.events if event.end_s > FROM_S)
    sure = tuple(event for event in seen if event.start_s >= FROM_S + 1.0)
    row = Measurement(
        "abrupt_peak",
        max((e.size_uv for e in seen), default=0.0),
        "uV",
        None,
        None,
        found.threshold_uv,
    )
    if early:
        text = f"{len(early)} abrupt bursts before any lead was flexed: not by the flexing."
        return Judged(
            (finding("burst_noise", RETEST, text, events=found.events),), None, None, (row,)
        )
    if not seen:
        proven = ("ground",) if hum < PROVES_UV else ()
        score = score_of(1.0) if hum < UNSURE_UV else None
        return Judged(_unproven(hum), score, None, (row,), proven, found.events)
    lead = "ground" if sure else None
    told = finding(
        "intermittent_lead",
        NOT_FIT if sure else RETEST,
        f"Hum jumps {len(seen)} times, by up to {row.value:.0f} uV, while the ground lead is"
        " flexed.",
        lead=lead,
        events=seen,
    )
    return Judged(
        (told,), score_of(found.conforms) if sure else None, None, (row,), (), found.events
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
            action="Run the lift test with the bar held in the bare hand: it proves the ground",
        ),
    )
