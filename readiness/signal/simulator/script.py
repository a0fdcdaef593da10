"""What the operator does in the ten seconds: which lead is flexed or lifted when."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from readiness.signal.simulator.faults import LEADS, Fault
from readiness.signal.simulator.parameters import Bench

DURATION_S = 10.0
BOUNDS_S = (2.5, 5.0, 7.5, 10.0)
EFFORT_S = 5.0
POST_KOHM = 100.0
Span = tuple[float, float]


@dataclass
class Script:
    """The hands of the operator, in seconds of the capture."""

    held: bool = False
    worn: bool = False
    on_bar: bool = True
    post_kohm: float = 0.0
    windows: dict[str, Span] = field(default_factory=dict)
    """When each lead is really worked on, lag and wrong order included."""
    flexed: dict[str, Span] = field(default_factory=dict)
    open: dict[str, list[Span]] = field(default_factory=lambda: {lead: [] for lead in LEADS})
    """Spans in which a lead does not touch the bar, by the hand or by a fault."""
    effort_s: float | None = None


def write_script(
    test: str, bench: Bench, faults: tuple[Fault, ...], rng: np.random.Generator
) -> Script:
    """The script of one capture: instructions, then human error, then what the faults add."""
    kinds = {fault.kind for fault in faults}
    script = Script(
        held=test in ("flex", "lift", "ground"), worn=test == "worn" or "worn_not_shorted" in kinds
    )
    script.on_bar = "not_on_bar" not in kinds
    script.post_kohm = POST_KOHM if test == "ground" else 0.0
    if test == "worn":
        script.effort_s = EFFORT_S + bench.lag_s
    if script.held:
        script.windows = _windows(bench, faults, rng)
    if test in ("flex", "ground"):
        script.flexed = dict(script.windows)
    if test == "lift":
        for lead, (start, end) in script.windows.items():
            script.open[lead] += _lift(start, end, rng)
    for fault in faults:
        if fault.kind == "open_lead":
            script.open[str(fault.lead)] = [(-np.inf, np.inf)]
        elif fault.kind == "intermittent_lead" and fault.lead in script.flexed:
            script.open[str(fault.lead)] += _opens(fault, script.flexed[fault.lead], rng)
        elif fault.kind == "moved_too_early" and not script.held:
            # Handling in a still capture: the leads are nudged about, which bends all three.
            start = rng.uniform(0.5, 6.0)
            script.flexed = dict.fromkeys(LEADS, (start, start + fault.severity + 1.0))
    _join_shorted(script, faults)
    return script


def _windows(bench: Bench, faults: tuple[Fault, ...], rng: np.random.Generator) -> dict[str, Span]:
    order = list(bench.order)
    early = 0.0
    for fault in faults:
        if fault.kind == "wrong_order":
            i, j = rng.choice(3, 2, replace=False)
            order[i], order[j] = order[j], order[i]
        elif fault.kind == "moved_too_early":
            early = fault.severity
    starts = [
        bound + bench.lag_s + jitter
        for bound, jitter in zip(BOUNDS_S, bench.jitter_s, strict=False)
    ]
    starts[0] -= early
    return dict(zip(order, zip(starts, [*starts[1:], DURATION_S], strict=True), strict=True))


def _lift(start: float, end: float, rng: np.random.Generator) -> list[Span]:
    """A lead lifted a moment after the call and put back before the next, with the contact's
    chatter.
    """
    up = start + rng.uniform(0.1, 0.5)
    down = end - rng.uniform(0.2, 0.6)
    return chatter(up, max(down, up + 0.8), rng)


def chatter(up: float, down: float, rng: np.random.Generator) -> list[Span]:
    """An open from ``up`` to ``down`` whose ends bounce up to four times within a few milliseconds.

    Bounces of tenths of a millisecond to some milliseconds are what dry contacts do (common
    practice).
    """
    spans = []
    edge = up
    for _ in range(int(rng.integers(0, 5))):
        length = float(np.exp(rng.uniform(np.log(0.0003), np.log(0.003))))
        if edge + 2 * length > up + 0.3 * (down - up):
            break
        spans.append((edge, edge + length))
        edge += length * (1 + rng.uniform(0.3, 1.0))
    return [*spans, (edge, down)]


def _opens(fault: Fault, window: Span, rng: np.random.Generator) -> list[Span]:
    """``fault.count`` opens of ``fault.severity`` seconds inside the lead's own window, not
    overlapping.
    """
    start, end = window[0] + 0.1, min(window[1], DURATION_S) - 0.1
    spans: list[Span] = []
    for at in np.sort(rng.uniform(start, max(end - fault.severity, start), fault.count)):
        if spans and at < spans[-1][1] + 0.01:
            continue
        spans += chatter(float(at), min(float(at) + fault.severity, end), rng)
    return spans


def _join_shorted(script: Script, faults: tuple[Fault, ...]) -> None:
    """Of two leads joined in the cable, either reaches the bar through the other: open only where
    both are.
    """
    for fault in faults:
        if fault.kind == "leads_shorted":
            one, other = str(fault.lead).split("+")
            script.open[one] = script.open[other] = []
