"""How many kits will be ready on the day a run must be posted, and which of them decide it. Pure.

A kit is ready for sure, or is here and has to pass check and bench, or is still out and has to
come back first. Draw by draw kits are independent, so their number has a Poisson-binomial law;
the mean of these laws over the draws carries what is not known and what kits share.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import numpy as np

from rentals.planning.bench_chance import BenchRecord
from rentals.planning.lateness import PastLoan
from rentals.planning.lateness_law import LatenessLaw
from rentals.planning.ready_count import at_least, count_law, gains_if_sure, spares_for

GOAL = 0.95
"""Chance to serve everybody from which on a run is not at risk."""


@dataclass(frozen=True)
class ComingKit:
    """A kit that is not ready yet. `back_by` is the last day on which it may come back to be ready
    in time; None where no kit could be made ready any more. `out` is None for a kit that is here;
    one that the bench `refused` is not counted on until it is mended.
    """

    code: str
    back_by: date | None
    out: PastLoan | None = None
    refused: bool = False


@dataclass(frozen=True)
class KitChance:
    """A coming kit: its chances to be back and to be ready in time, and by how much the chance to
    serve everybody rises when it is sure to be back (or, for a kit that is here, to pass).
    """

    kit: ComingKit
    back: float
    ready: float
    gain: float


@dataclass(frozen=True)
class RunChance:
    """Chances of a run. `law` gives the chance of each number of ready kits from 0 on."""

    need: int
    sure: int
    law: tuple[float, ...]
    kits: tuple[KitChance, ...]

    def at_least(self, number: int) -> float:
        """Chance that so many kits or more are ready."""
        return at_least(np.array(self.law), number)

    @property
    def serve_all(self) -> float:
        """Chance that everybody gets a kit."""
        return self.at_least(self.need)

    @property
    def spares(self) -> int:
        """Fewest spare kits, ready for sure, that make it `GOAL`."""
        return spares_for(np.array(self.law), self.need, GOAL)

    def safe_number(self, chance: float) -> int:
        """Most students that get a kit with at least a chance."""
        return next(k for k in range(self.need, -1, -1) if self.at_least(k) >= chance)


def run_chance(
    need: int,
    sure: int,
    kits: Sequence[ComingKit],
    lateness: LatenessLaw,
    bench: BenchRecord,
) -> RunChance:
    """Chances of a run that needs so many kits, of which `sure` are ready already."""
    draws = len(lateness.shared)
    passing = bench.draw(lateness.rng, draws)
    kinds: dict[ComingKit, list[ComingKit]] = {}
    for kit in kits:
        kinds.setdefault(replace(kit, code=""), []).append(kit)
    if not kinds:
        law = np.zeros(sure + 1)
        law[sure] = 1
        return RunChance(need, sure, tuple(law), ())
    backs = np.array([_back(kind, lateness) for kind in kinds]).T
    # A kit that is here counts as sure when it has passed, one that is out when it is back.
    here = np.array([kind.out is None for kind in kinds])
    in_time = np.array([kind.back_by is not None for kind in kinds])
    then = in_time * np.where(here, 1.0, passing[:, None])
    ready = backs * passing[:, None]
    many = [len(alike) for alike in kinds.values()]
    law = count_law(ready, many)
    enough = at_least(law, need - sure)
    gains = gains_if_sure(ready, many, then, need - sure)
    found = [
        KitChance(kit, float(back), float(chance), max(gain.enough_if_sure - enough, 0.0))
        for alike, back, chance, gain in zip(
            kinds.values(), backs.mean(axis=0), ready.mean(axis=0), gains, strict=True
        )
        for kit in alike
    ]
    found.sort(key=lambda chance: (-chance.gain, chance.ready, chance.kit.code))
    return RunChance(need, sure, (*([0.0] * sure), *map(float, law)), tuple(found))


def _back(kind: ComingKit, lateness: LatenessLaw) -> np.ndarray:
    draws = len(lateness.shared)
    if kind.back_by is None or kind.refused:
        return np.zeros(draws)
    return np.ones(draws) if kind.out is None else lateness.back_by(kind.out, kind.back_by)
