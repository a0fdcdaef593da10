"""What the operator does in the ten seconds: which lead is flexed or lifted when."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from readiness.signal.catalogue import DURATION_S, LEADS, TestKind
from readiness.signal.simulator.faults import Fault
from readiness.signal.simulator.hand import Hand
from readiness.signal.simulator.parameters import Setup

Bend = tuple[float, float, float]
POST_KOHM = 100.0
Span = tuple[float, float]


@dataclass
class Script:
    """The hands of the operator, in seconds of the capture."""

    held: bool = False
    worn: bool = False
    on_bar: bool = True
    post_kohm: float = 0.0
    post_on: str = "A"
    """The input that is on the second post's resistor."""
    windows: dict[str, Span] = field(default_factory=dict)
    """When each lead is really worked on, lag and wrong order included."""
    flexed: dict[str, Span] = field(default_factory=dict)
    open: dict[str, list[Span]] = field(default_factory=lambda: {lead: [] for lead in LEADS})
    """Spans in which a lead does not touch the bar, by the hand or by a fault."""
    touched: dict[str, list[Span]] = field(default_factory=dict)
    """Spans in which a finger lies on the lifted snap."""
    raised: dict[str, list[Bend]] = field(default_factory=dict)
    """Bends in which a lead's strands part but for some kilohm: start, end, highest kilohm."""
    effort_s: float | None = None


def write_script(
    kind: TestKind, setup: Setup, faults: tuple[Fault, ...], rng: np.random.Generator
) -> Script:
    """The script of one capture: instructions, then human error, then what the faults add."""
    suffered = {fault.kind for fault in faults}
    script = Script(held=kind.held, worn=kind.worn or "worn_not_shorted" in suffered)
    script.on_bar = "not_on_bar" not in suffered
    script.post_kohm = POST_KOHM if kind.second_post else 0.0
    if kind.act == "clench":
        script.effort_s = kind.windows[-1].start_s + setup.lag_s
    if script.held:
        script.windows = _windows(kind, setup, faults, rng)
    if kind.act == "flex":
        script.flexed = dict(script.windows)
    if kind.act == "lift":
        for lead, (start, end) in script.windows.items():
            script.open[lead] += _lift(start, end, setup.hand, rng)
    for fault in faults:
        if fault.kind == "open_lead":
            script.open[str(fault.lead)] = [(-np.inf, np.inf)]
        elif fault.kind == "intermittent_lead" and fault.lead in script.flexed:
            script.open[str(fault.lead)] += _opens(fault, script.flexed[fault.lead], rng)
        elif fault.kind == "moved_too_early" and not script.held:
            # Handling in a still capture: the leads are nudged about, which bends all three.
            start = rng.uniform(0.5, 6.0)
            script.flexed = dict.fromkeys(LEADS, (start, start + fault.severity + 1.0))
        elif fault.kind == "resistive_lead" and fault.lead in script.flexed:
            script.raised[str(fault.lead)] = _bends(fault, script.flexed[fault.lead], rng)
    _join_shorted(script, faults)
    _swap_sockets(script, faults)
    return script


def _windows(
    kind: TestKind, setup: Setup, faults: tuple[Fault, ...], rng: np.random.Generator
) -> dict[str, Span]:
    """When each lead is really worked on: the calls, each late by lag and jitter, in the order of
    the operator.
    """
    order = list(setup.order)
    early = 0.0
    for fault in faults:
        if fault.kind == "wrong_order":
            i, j = rng.choice(3, 2, replace=False)
            order[i], order[j] = order[j], order[i]
        elif fault.kind == "moved_too_early":
            early = fault.severity
    calls = [window.start_s for window in kind.windows if window.name in LEADS]
    starts = [
        call + setup.lag_s + jitter for call, jitter in zip(calls, setup.jitter_s, strict=True)
    ]
    starts[0] -= early
    return dict(zip(order, zip(starts, [*starts[1:], DURATION_S], strict=True), strict=True))


def _lift(start: float, end: float, hand: Hand, rng: np.random.Generator) -> list[Span]:
    """A lead lifted a moment after the call and put back before the next, with the contact's
    chatter.
    """
    up = start + rng.uniform(*hand.up_s)
    down = end - rng.uniform(*hand.down_s)
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


def _bends(fault: Fault, window: Span, rng: np.random.Generator) -> list[Bend]:
    """``fault.count`` bends of a tenth of a second to one inside the lead's own window, the hardest
    of which reaches ``fault.severity`` kilohm; no two at once.
    """
    start, end = window[0] + 0.1, min(window[1], DURATION_S) - 0.1
    bends: list[Bend] = []
    shares = [1.0, *np.exp(rng.uniform(np.log(0.1), 0.0, fault.count - 1))]
    starts = np.sort(rng.uniform(start, max(end - 0.2, start), fault.count))
    for at, until, share in zip(starts, [*starts[1:], end], rng.permutation(shares), strict=True):
        length = float(np.exp(rng.uniform(np.log(0.1), 0.0)))
        bends.append((float(at), float(min(at + length, until)), fault.severity * float(share)))
    return bends


def _swap_sockets(script: Script, faults: tuple[Fault, ...]) -> None:
    """What the operator does to a lead reaches the amplifier where that lead is plugged in."""
    for fault in faults:
        if fault.kind == "swapped_sockets":
            first, second = str(fault.lead).split("+")
            there = {first: second, second: first}
            script.post_on = there.get("A", "A")
            for spans in (script.windows, script.flexed, script.open, script.touched):
                _rename(spans, there)


def _rename(spans: dict[str, Any], there: dict[str, str]) -> None:
    moved = {there.get(lead, lead): spans[lead] for lead in spans}
    spans.clear()
    spans.update(moved)


def _join_shorted(script: Script, faults: tuple[Fault, ...]) -> None:
    """Of two leads joined in the cable, either reaches the bar through the other: open only where
    both are.
    """
    for fault in faults:
        if fault.kind == "leads_shorted":
            first, second = str(fault.lead).split("+")
            script.open[first] = script.open[second] = []
