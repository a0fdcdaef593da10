"""Friction in a sound cable: insulation that rubs on strands lets charge go in short pulses.

A bent coaxial or shielded cable gives nanoamperes (low-level measuring practice, from memory), some
picocoulombs within a millisecond. They reach the input as a current in the lead's own resistance:
microvolts on the bar, a hundred times as much behind an electrode.
"""

from __future__ import annotations

import numpy as np

from readiness.signal.simulator.faults import Fault
from readiness.signal.simulator.script import Script
from readiness.signal.simulator.sources import Clock

NEIGHBOUR = 0.3
"""A bent cable pulls the one beside it; the ground's own charge is short-circuited."""


def rubbed_na(
    clock: Clock, script: Script, faults: tuple[Fault, ...], rng: np.random.Generator
) -> dict[str, np.ndarray]:
    """Current into each active lead in nanoampere while the leads are bent; empty without the
    trouble.
    """
    rubs = [fault for fault in faults if fault.kind == "friction_spikes"]
    if not rubs or not script.flexed:
        return {}
    current = {lead: np.zeros(clock.size) for lead in ("A", "B")}
    for fault in rubs:
        for bent, (start_s, end_s) in script.flexed.items():
            for at in rng.uniform(start_s, min(end_s, clock.t[-1]), fault.count):
                pulse = _pulse(clock, fault.severity, rng)
                for lead, x in current.items():
                    share = 1.0 if lead == bent else NEIGHBOUR
                    first = clock.index(float(at))
                    part = x[first : first + len(pulse)]
                    part += share * pulse[: len(part)]
    return current


def _pulse(clock: Clock, picocoulomb: float, rng: np.random.Generator) -> np.ndarray:
    """One release of a tenth of the charge to all of it, either sign, over 0.3 to 10 ms, in nA."""
    length_s = float(np.exp(rng.uniform(np.log(0.0003), np.log(0.01))))
    points = max(2, round(length_s * clock.rate_hz))
    shape = np.sin(np.pi * (np.arange(points) + 0.5) / points)
    charge = picocoulomb * rng.choice((-1.0, 1.0)) * float(np.exp(rng.uniform(np.log(0.1), 0.0)))
    return 1e-3 * charge * clock.rate_hz * shape / shape.sum()
