"""The body behind a hand: its mains and static swings as currents into a node, and a finger on a
lifted snap.
"""

from __future__ import annotations

import numpy as np

from readiness.signal.simulator.hand import Hand, Span
from readiness.signal.simulator.sources import Clock, MainsSource


class BodyVolts:
    """A body's mains and static swings in one capture, and what they drive into a node."""

    def __init__(
        self,
        clock: Clock,
        mains: MainsSource,
        hand: Hand,
        near: np.ndarray,
        rng: np.random.Generator,
    ) -> None:
        self.clock, self.mains, self.hand, self.rng = clock, mains, hand, rng
        self.phases = near * np.exp(1j * rng.uniform(-0.8, 0.8, len(near)))
        self.static = hand.static_v * clock.slow(rng, hand.static_hz) if hand.static_v else None

    def mains_na(self, pf: float) -> np.ndarray:
        """Peak displacement current by harmonic through ``pf``, in nA: w C V."""
        peak_na = 2e-3 * np.pi * self.mains.hz * pf * self.hand.mains_v
        return self.mains.current(peak_na, self.phases)

    def static_na(self, pf: float) -> np.ndarray | float:
        """Current of the static swings through ``pf``, in nA: C dV/dt."""
        if self.static is None:
            return 0.0
        swings: np.ndarray = np.gradient(self.static) * self.clock.rate_hz
        return 1e-3 * pf * swings

    def static_uv(self, pf: float, mohm: float, node_pf: float) -> np.ndarray | float:
        """What the static swings raise on a node of ``mohm`` parallel ``node_pf``, in microvolts: a
        capacitive divider with the leakage as its high-pass.
        """
        if self.static is None:
            return 0.0
        turn = 2j * np.pi * self.clock.freq * 1e-6
        share = turn * pf * mohm / (1 + turn * (pf + node_pf) * mohm)
        return 1e6 * self.clock.shape(self.static, share)


def touches(
    hand: Hand, lifts: dict[str, list[Span]], rng: np.random.Generator
) -> dict[str, list[Span]]:
    """When a finger lies on the snap of each lifted lead: from a moment after it left the bar, to
    its return or a moment before.
    """
    touched = {}
    for lead, spans in lifts.items():
        if not spans or rng.random() >= hand.finger:
            continue
        up, down = spans[-1]
        first = up + rng.uniform(0.01, 0.3)
        last = down - rng.choice((0.0, 0.05, 0.5)) * rng.uniform(0, 1)
        if last > first:
            touched[lead] = [(first, last)]
    return touched
