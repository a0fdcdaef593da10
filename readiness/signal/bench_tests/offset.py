"""A constant offset under a trace: how large it is, what it means, and that the rest was judged."""

from __future__ import annotations

from readiness.signal.bench_tests.findings import finding
from readiness.signal.bench_tests.view import View
from readiness.signal.result import Finding
from readiness.signal.statistics.decision import RETEST

ACTION = (
    "Press all three snaps on the bar and run the lift test, which names an open lead; if the"
    " offset stays, export the signal without it"
)


def offset_words(view: View, offset_uv: float) -> str:
    """An offset in millivolts, beside the range where the file states one, in a clause."""
    full_scale = view.capture.emg.full_scale
    large = f"A constant offset of {offset_uv / 1000:.4g} mV lies under the trace"
    if full_scale is None:
        return f"{large}, whose range the file does not state"
    low, high = full_scale
    end = high if offset_uv > 0 else low
    if end * offset_uv <= 0:
        return large
    return f"{large}, {100 * offset_uv / end:.0f} % of the way to the end of its range"


def offset_finding(view: View, offset_uv: float) -> Finding:
    """The finding for inputs that rest far from zero. It stands as an open lead without a name, for
    that is what ``lift`` can settle.
    """
    text = (
        f"{offset_words(view, offset_uv)}. On one bar the inputs rest within millivolts: a lead"
        " is open, the snaps are off the bar, or the program counts from another zero. What varies"
        " was judged without it."
    )
    return finding("open_lead", RETEST, text, action=ACTION)
