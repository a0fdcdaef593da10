"""``ground``: ``flex`` again with 100 kohm between bar and snap A, so that an open ground shows as hum at once."""

from __future__ import annotations

from readiness.signal.continuity import find_events
from readiness.signal.decision import NOT_FIT, RETEST, score_of
from readiness.signal.findings import finding
from readiness.signal.view import Judged, Measurement, View

FROM_S = 7.0
"""The ground window opens at 7.5 s; an operator half a second early is in it from here."""


def judge(view: View) -> Judged:
    """Judge the ground window alone: the resistor makes the other two windows hum by themselves."""
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
