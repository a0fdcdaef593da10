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

from readiness.signal.statistics.robust import runs

from .events import STILL_S
from .in_line import Beside, beside_ground
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
GROWS, MORE, BEYOND = 0.05, 4.0, 6.0
"""A hand that comes near an open lead lets more of the same hum in; lifting the other lead takes
its own from that. Hum wanders by some per cent: the least growth, its least ratio to the other
lead's, and to the standard deviation of the still part.
"""
TINY_GROWTH = 3e-4
"""The least growth where the stage cuts the hum at both ends: there hum does not wander."""
MOST_GROWTH, SWAYS = 3.0, 0.1
"""What grows by more, or sways by so much while nothing is touched, is a stage that comes off its
stop: that looks alike for both leads.
"""
LEAST_SHARE = 0.005
"""Of the largest hum. What a stage at its stop lets through of an open lead's hum has no phase to
compare with.
"""
AT_ENDS = 1.1
"""Most hum anywhere over that of the still part, where both stand at the ends of the stage."""
LOPSIDED = 0.1
"""Second harmonic over the first: mains has hardly any, a wave that stops at one end has much."""
HELD = 3
MOSTLY, SEEN = 0.85, 0.3
"""Share of the clear quarter seconds, and how many must be clear: a stage at its stop shows no hum
for a while.
"""


@dataclass(frozen=True)
class Turns:
    """By lead A and B: whether hum stayed where it stood before, whether it turned over, how much
    more of it there was in its own phase for half a second (a share of the still part's), the
    spread of that share while nothing is touched, whether hum stands at the ends of what the stage
    gives, and how it moves beside that of the lifted ground.
    """

    same: frozenset[str]
    turned: frozenset[str]
    growth: Mapping[str, float] = field(default_factory=dict)
    sway: float = 0.0
    limited: bool = False
    beside: Beside = field(default_factory=Beside)

    @property
    def open_lead(self) -> str | None:
        """The lead whose lifting leaves the hum in its place while lifting the other turns it."""
        for lead, second in (("A", "B"), ("B", "A")):
            if lead in self.same and second in self.turned and lead not in self.turned:
                return lead
        return None

    @property
    def beside_closed(self) -> str | None:
        """Where one of the two is open for sure: the lead beside the one that is closed for sure,
        for its lifting moves hum as lifting the ground does. Where there was hum to take away, that
        must be more, or the lead beside must make it grow.
        """
        in_line = self.beside.in_line
        if len(in_line) != 1:
            return None
        closed = next(iter(in_line))
        lead = "B" if closed == "A" else "A"
        return lead if closed in self.beside.beyond or self._outgrows(lead, closed, 0.0) else None

    @property
    def open_of_two(self) -> str | None:
        """Where one of the two is open for sure: the lead beside a closed one, else the one whose
        lifting makes hum grow, else the one whose lifting does not turn it while the other's does.
        """
        if lead := self.beside_closed or self.grows:
            return lead
        for lead, second in (("A", "B"), ("B", "A")):
            if self.growth and second in self.turned and lead not in self.turned:
                return lead
        return None

    @property
    def grows(self) -> str | None:
        """The lead whose lifting makes hum grow, and the other's does not."""
        least = 0.0 if self.limited else GROWS
        for lead, second in (("A", "B"), ("B", "A")):
            if self._outgrows(lead, second, least):
                return lead
        return None

    def _outgrows(self, lead: str, second: str, least: float) -> bool:
        if not self.growth or self.sway > SWAYS or self.growth[lead] > MOST_GROWTH:
            return False
        least = max(least, MORE * self.growth[second], BEYOND * self.sway, TINY_GROWTH)
        return self.growth[lead] >= least


NONE = Turns(frozenset(), frozenset())


def hum_turns(trace: Trace) -> Turns:
    """Compare the phase of the fundamental in each lead's part with that of the still part, and
    with that of the ground's; of the still part nothing is said where it has no steady hum.
    """
    beside = beside_ground(trace)
    hum = trace.hum[:, 0]
    still = hum[trace.segments(*STILL_S)]
    middle = still.mean() if len(still) else 0j
    if not _is_steady(trace, still):
        return Turns(frozenset(), frozenset(), beside=beside)
    clear = np.abs(hum) > max(CLEAR * trace.hum_u, FAINT * abs(middle))
    apart_deg = np.abs(np.degrees(np.angle(hum * np.conj(middle))))
    same = {
        lead
        for lead, span in CORES.items()
        if _stays(clear, apart_deg < SAME_DEG, trace.segments(*span))
    }
    along = np.real(hum * np.conj(middle)) / abs(middle) ** 2 - 1
    growth = {lead: _held(along[trace.segments(*span)]) for lead, span in PARTS.items()}
    sway = float(along[trace.segments(*STILL_S)].std())
    if _lopsided(trace) or abs(middle) < LEAST_SHARE * np.abs(hum).max():
        growth = {}
    over = clear & (apart_deg > TURNED_DEG)
    limited = bool(np.abs(hum).max() < AT_ENDS * abs(middle)) and bool(over.any())
    turned = _turned(trace, over)
    return Turns(frozenset(same), frozenset(turned), growth, sway, limited, beside)


def _is_steady(trace: Trace, still: np.ndarray) -> bool:
    """Whether the still part has hum of one phase."""
    middle = abs(still.mean()) if len(still) else 0.0
    # A lead lifted too early hums for a part of the still time only.
    if len(still) and np.abs(still[:3]).min() < EARLY * middle:
        return False
    return bool(middle >= max(STEADY * float(np.mean(np.abs(still))), CLEAR * trace.hum_u, 1e-9))


def _lopsided(trace: Trace) -> bool:
    """Whether the still part's wave stops at one end only, told by its second harmonic."""
    still = trace.part(trace.x, *STILL_S)
    turns = 2j * np.pi * trace.line_hz / trace.rate * np.arange(len(still))
    weighted = (still - still.mean()) * np.hanning(len(still))
    first, second = (abs(np.sum(weighted * np.exp(-order * turns))) for order in (1, 2))
    return bool(second > LOPSIDED * first)


def _held(values: np.ndarray) -> float:
    """The highest level that half a second keeps to."""
    held = runs(values, HELD) if len(values) >= HELD else values[:, None]
    return float(held.min(axis=1).max()) if len(values) else 0.0


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
    spans = np.split(at, np.flatnonzero(np.diff(at) > 2) + 1)
    middles = [
        float(trace.start_s[span[0]] + trace.start_s[span[-1]] + SEGMENT_S) / 2
        for span in spans
        if len(span) >= LEAST_SEGMENTS
    ]
    return {lead for lead, (low, high) in PARTS.items() if any(low <= at < high for at in middles)}
