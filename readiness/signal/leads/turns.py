"""Where hum turns round while a lead is lifted: with one input open from the start, lifting that
lead leaves the hum where it stood, and lifting the other turns it over.

The trace shows A less B. An open A stands at what A picks up; lifting A makes that more or less,
and lifting B takes from it what B picks up, which the hand on B makes the larger of the two. That
holds for a square wave from rail to rail as well, in which no level says anything.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from .events import STILL_S
from .trace import SEGMENT_S, Trace

PARTS = {"A": (2.0, 5.0), "B": (5.0, 7.5)}
"""In which the middle of a lead's lift lies, with an operator half a second early or late."""
CORES = {"A": (3.25, 4.5), "B": (5.75, 7.0)}
"""When a lead is up whoever is early or late."""
SAME_DEG, TURNED_DEG = 50.0, 120.0
"""Hum of one source sways by thirty degrees as a hand comes near with its own phase; that of the
other input has the opposite sign, less the same.
"""
LEAST_SEGMENTS = 4
"""Turned for 0.6 s: no lift is shorter, and no edge is as long."""
STEADY = 0.9
CLEAR = 8.0
"""Standard deviations of a quarter second's hum from which its phase is good to some degrees."""
FAINT = 0.05
EARLY = 0.2
GROWS = 1.15
"""A hand that comes near an open lead lets more of the same hum in; lifting the other lead takes
its own from that. Hum wanders by some per cent.
"""
HELD = 3
MOSTLY, SEEN = 0.85, 0.3
"""Share of the clear quarter seconds, and how many must be clear: a stage at its stop shows no hum
for a while.
"""


@dataclass(frozen=True)
class Turns:
    """By lead A and B: whether hum stayed where it stood before, whether it turned over, and the
    most it grew in its own phase, held for half a second, over the still part.
    """

    same: frozenset[str]
    turned: frozenset[str]
    growth: Mapping[str, float] = field(default_factory=dict)

    @property
    def open_lead(self) -> str | None:
        """The lead whose lifting leaves the hum in its place while lifting the other turns it."""
        for lead, second in (("A", "B"), ("B", "A")):
            if lead in self.same and second in self.turned and lead not in self.turned:
                return lead
        return None

    @property
    def open_of_two(self) -> str | None:
        """Where one of the two is open for sure: the lead whose lifting does not turn the hum while
        the other's does, else the one whose lifting makes it grow.
        """
        for lead, second in (("A", "B"), ("B", "A")):
            if second in self.turned and lead not in self.turned:
                return lead
        for lead, second in (("A", "B"), ("B", "A")):
            if self.growth and self.growth[lead] >= GROWS * max(self.growth[second], 1.0):
                return lead
        return None


NONE = Turns(frozenset(), frozenset())


def hum_turns(trace: Trace) -> Turns:
    """Compare the phase of the fundamental in each lead's part with that of the still part; nothing
    is said where the still part has no steady hum.
    """
    hum = trace.hum[:, 0]
    still = hum[trace.segments(*STILL_S)]
    middle = still.mean() if len(still) else 0j
    # A lead lifted too early hums for a part of the still time only.
    if len(still) and np.abs(still[:3]).min() < EARLY * abs(middle):
        return NONE
    if abs(middle) < max(STEADY * float(np.mean(np.abs(still))), CLEAR * trace.hum_u, 1e-9):
        return NONE
    clear = np.abs(hum) > max(CLEAR * trace.hum_u, FAINT * abs(middle))
    apart_deg = np.abs(np.degrees(np.angle(hum * np.conj(middle))))
    same = {
        lead
        for lead, span in CORES.items()
        if _stays(clear, apart_deg < SAME_DEG, trace.segments(*span))
    }
    along = np.real(hum * np.conj(middle)) / abs(middle) ** 2
    growth = {lead: _held(along[trace.segments(*span)]) for lead, span in PARTS.items()}
    turned = _turned(trace, clear & (apart_deg > TURNED_DEG))
    return Turns(frozenset(same), frozenset(turned), growth)


def _held(values: np.ndarray) -> float:
    """The highest level that half a second keeps to."""
    runs = sliding_window_view(values, HELD) if len(values) >= HELD else values[:, None]
    return float(runs.min(axis=1).max()) if len(values) else 0.0


def _stays(clear: np.ndarray, near: np.ndarray, inside: np.ndarray) -> bool:
    clear, near = clear[inside], near[inside]
    if not len(inside) or np.mean(clear) < SEEN:
        return False
    return float(np.mean(near[clear])) >= MOSTLY


def _turned(trace: Trace, over: np.ndarray) -> set[str]:
    """Leads in whose part lies the middle of a stretch in which hum is turned over."""
    at = np.flatnonzero(over)
    if not len(at):
        return set()
    runs = np.split(at, np.flatnonzero(np.diff(at) > 2) + 1)
    middles = [
        float(trace.start_s[run[0]] + trace.start_s[run[-1]] + SEGMENT_S) / 2
        for run in runs
        if len(run) >= LEAST_SEGMENTS
    ]
    return {lead for lead, (low, high) in PARTS.items() if any(low <= at < high for at in middles)}
