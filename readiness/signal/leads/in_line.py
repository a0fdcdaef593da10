"""Which lead, being lifted, moves the hum the way the lifted ground does: the one that was closed.

Where an active lead is open, its input does not follow the bar. Lifting the ground then lets the
closed input alone rise, and so does lifting the closed lead: both move the hum in one direction,
whatever phase the room has. A hand on the open lead moves it the other way, or not at all where
the stage stands at its stop. A sound pair moves it in opposite directions, a ground in an active
lead's socket as well.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from .events import STILL_S
from .trace import Trace

PARTS_S = {"A": (2.0, 4.8), "B": (4.9, 7.3), "ground": (7.4, 9.9)}
IN_LINE_DEG = 35.0
"""Inputs differ in what they stand on, and so do their phases, by some ten degrees; a finger on a
snap turns hum by ninety.
"""
OPPOSED_DEG = 120.0
STRONG, LEAST, COHERENT = 0.25, 2, 0.9
"""Of the largest change of a part, what counts; in so many quarter seconds; which agree so well."""
EDGY = 0.25
"""Noise over hum, from which a quarter second holds an edge: that has a phase of its own."""
TURNS_OVER = 1.1
"""A finger on an open lead's snap takes its hum away, in line with the ground, and no more."""
SILENT, FAR = 0.1, 4.0
"""A change this small against that of the other lead is none; one so many times the hum that was
there is no hand's.
"""
LOUD = 0.1
"""Share of the largest hum from which a quarter second's phase is its own."""
SEEN = 0.02
"""Share of the ground's change that an active lead must reach."""
SPREADS = 8.0
"""Standard deviations of the still part's hum that a change must stand out."""


@dataclass(frozen=True)
class Change:
    """How one lift changes the fundamental: its largest size in microvolts, the mean of its strong
    quarter seconds' directions (length 1 where they agree), and their number.
    """

    size_uv: float
    direction: complex
    count: int

    @property
    def clear(self) -> bool:
        """Whether it has one direction."""
        return self.count >= LEAST and abs(self.direction) >= COHERENT


@dataclass(frozen=True)
class Beside:
    """What the changes say side by side.

    ``in_line``: active leads that move hum as the lifted ground does; ``beyond``: those of them by
    more than the hum that was there; ``silent``: leads that move next to nothing; ``clear``: those
    that move it, and not by edges alone; ``opposed``: whether the active leads move hum in opposite
    directions, far beyond what was there, as those of a sound pair do.
    """

    in_line: frozenset[str] = frozenset()
    beyond: frozenset[str] = frozenset()
    silent: frozenset[str] = frozenset()
    clear: frozenset[str] = frozenset()
    opposed: bool = False


def beside_ground(trace: Trace) -> Beside:
    """Set the changes of hum in the three leads' parts side by side."""
    hum = steady_phases(trace)
    still = hum[trace.segments(*STILL_S)]
    base = still.mean() if len(still) else 0j
    spread = float(np.sqrt(np.mean(np.abs(still - base) ** 2))) if len(still) else 0.0
    changes = {
        lead: _change(trace, hum, base, trace.segments(*span)) for lead, span in PARTS_S.items()
    }
    ground = changes.pop("ground")
    least = SPREADS * max(spread, trace.hum_u)
    highest = max(change.size_uv for change in changes.values())
    silent = frozenset(
        lead for lead, change in changes.items() if change.size_uv < SILENT * highest
    )
    clear = frozenset(lead for lead, change in changes.items() if change.clear)
    apart_deg = _apart_deg(changes["A"], changes["B"])
    smaller = min(change.size_uv for change in changes.values())
    far = smaller >= max(least, FAR * abs(base))
    opposed = len(clear) == len(changes) and apart_deg >= OPPOSED_DEG and bool(far)
    if not ground.clear or ground.size_uv < least:
        return Beside(silent=silent, clear=clear, opposed=opposed)
    least = max(least, SEEN * ground.size_uv)
    in_line = {
        lead
        for lead, change in changes.items()
        if change.clear and change.size_uv >= least and _apart_deg(change, ground) <= IN_LINE_DEG
    }
    beyond = {lead for lead in in_line if changes[lead].size_uv >= TURNS_OVER * abs(base)}
    return Beside(frozenset(in_line), frozenset(beyond), silent, clear, opposed)


def steady_phases(trace: Trace) -> np.ndarray:
    """The fundamental of each segment, (s,), turned so that strong hum keeps its phase.

    Where the still part is silent, noise alone has set the frequency of the trace's own phases.
    """
    hum = trace.hum[:, 0]
    sizes = np.abs(hum)
    strong = sizes > LOUD * sizes.max()
    steps = (hum[1:] * np.conj(hum[:-1]))[strong[1:] & strong[:-1]]
    if not len(steps):
        return hum
    middle = float(np.angle(np.sum(steps / np.abs(steps))))
    step = middle + float(np.median(np.angle(steps * np.exp(-1j * middle))))
    return hum * np.exp(-1j * step * np.arange(len(hum)))


def _change(trace: Trace, hum: np.ndarray, base: complex, inside: np.ndarray) -> Change:
    change = hum[inside] - base
    sizes = np.abs(change)
    highest = float(sizes.max()) if len(sizes) else 0.0
    if not highest:
        return Change(0.0, 0j, 0)
    strong = (sizes > STRONG * highest) & (trace.noise[inside] < EDGY * sizes)
    if not strong.any():
        return Change(highest, 0j, 0)
    return Change(highest, complex(np.mean(change[strong] / sizes[strong])), int(strong.sum()))


def _apart_deg(change: Change, second: Change) -> float:
    return abs(float(np.degrees(np.angle(change.direction * np.conj(second.direction)))))
