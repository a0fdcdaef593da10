"""``ground``: ``flex`` again with 100 kohm between bar and snap A, so that an open ground shows as hum at once."""

from __future__ import annotations

import numpy as np

from readiness.signal.continuity import find_events
from readiness.signal.decision import NOT_FIT, RETEST, score_of
from readiness.signal.findings import finding
from readiness.signal.view import Judged, Measurement, View

FROM_S = 7.0
"""The ground window opens at 7.5 s; an operator half a second early is in it from here."""


BEYOND = 30.0
"""The post lets hum of a few millivolts in (nanoamperes through 100 kohm); thirty times the limit is an open input."""


def judge(view: View) -> Judged:
    """Judge the ground window alone: the resistor makes the other two windows hum by themselves."""
    hum = view.still_hum_uv
    if hum > BEYOND * view.limits.hum_uv or float(np.median(view.trace.railed)) > 0.02:
        text = f"Hum of {hum:.0f} uV before the ground is touched: more than the second post lets in."
        return Judged(findings=(finding("open_lead", RETEST, text, action="Run the lift test: it names the lead"),))
    found = find_events(view.trace, view.test)
    seen = tuple(event for event in found.events if event.end_s > FROM_S)
    sure = tuple(event for event in seen if event.start_s >= FROM_S + 1.0)
    row = Measurement("abrupt_peak", max((e.size_uv for e in seen), default=0.0), "uV", None, None, found.threshold_uv)
    if not seen:
        return Judged(continuity=score_of(1.0), measurements=(row,), events=found.events)
    lead = "ground" if sure else None
    told = finding(
        "intermittent_lead", NOT_FIT if sure else RETEST,
        f"Hum jumps {len(seen)} times, by up to {row.value:.0f} uV, while the ground lead is flexed.",
        lead=lead, events=seen,
    )  # fmt: skip
    return Judged((told,), score_of(found.conforms), None, (row,), (), found.events)
