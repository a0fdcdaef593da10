"""How many kits will be ready on the day a run must be posted, and which of them decide it. Pure.

A kit is ready for sure, or is here and has to pass check and bench, or is still out and has to
come back first. Draw by draw kits are independent, so their number has a Poisson-binomial law;
the mean of these laws over the draws carries what is not known and what kits share.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

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
        return at_least(self._law, number)

    @cached_property
    def _law(self) -> np.ndarray:
        return np.array(self.law)

    @property
    def serve_all(self) -> float:
        """Chance that everybody gets a kit."""
        return self.at_least(self.need)

    @property
    def spares(self) -> int:
        """Fewest spare kits, ready for sure, that make it `GOAL`."""
        return spares_for(self._law, self.need, GOAL)

    def safe_number(self, chance: float) -> int:
        """Most students that get a kit with at least a chance."""
        return next(k for k in range(self.need, -1, -1) if self.at_least(k) >= chance)


@dataclass(frozen=True)
class _Kinds:
    """Coming kits by what is the same of them, with draws x kinds of chances to be `back` and to
    be `ready`; `passing` is the chance of each draw to pass check and bench.
    """

    alike: list[list[ComingKit]]
    passing: np.ndarray
    back: np.ndarray
    ready: np.ndarray

    @property
    def many(self) -> list[int]:
        """How many there are of each kind."""
        return [len(kits) for kits in self.alike]


def run_chance(
    need: int,
    sure: int,
    kits: Sequence[ComingKit],
    lateness: LatenessLaw,
    bench: BenchRecord,
    *,
    by_kit: bool = True,
) -> RunChance:
    """Chances of a run that needs so many kits, of which `sure` are ready already. What each kit
    would change is left out where it is not asked for: it takes the longest.
    """
    kinds = _kinds(kits, lateness, bench)
    if not kinds.alike:
        law = np.zeros(sure + 1)
        law[sure] = 1
        return RunChance(need, sure, tuple(law), ())
    law = count_law(kinds.ready, kinds.many)
    found = _kit_chances(kinds, law, need - sure) if by_kit else []
    return RunChance(need, sure, (*([0.0] * sure), *map(float, law)), tuple(found))


def _kinds(kits: Sequence[ComingKit], lateness: LatenessLaw, bench: BenchRecord) -> _Kinds:
    passing = bench.draw(lateness.rng, len(lateness.shared))
    alike: dict[tuple[date | None, PastLoan | None, bool], list[ComingKit]] = {}
    for kit in kits:
        alike.setdefault((kit.back_by, kit.out, kit.refused), []).append(kit)
    back = np.array([_back(same[0], lateness) for same in alike.values()]).T
    ready = back * passing[:, None] if alike else back
    return _Kinds(list(alike.values()), passing, back, ready)


def _kit_chances(kinds: _Kinds, law: np.ndarray, need: int) -> list[KitChance]:
    """Each kit's chances, the one that decides most first; `need` kits must be among these."""
    first = [alike[0] for alike in kinds.alike]
    # A kit that is here counts as sure when it has passed, one that is out when it is back.
    here = np.array([kind.out is None for kind in first])
    in_time = np.array([kind.back_by is not None for kind in first])
    then = in_time * np.where(here, 1.0, kinds.passing[:, None])
    enough = at_least(law, need)
    gains = gains_if_sure(kinds.ready, kinds.many, then, need)
    found = [
        KitChance(kit, float(back), float(chance), max(gain.enough_if_sure - enough, 0.0))
        for alike, back, chance, gain in zip(
            kinds.alike, kinds.back.mean(axis=0), kinds.ready.mean(axis=0), gains, strict=True
        )
        for kit in alike
    ]
    found.sort(key=lambda chance: (-chance.gain, chance.ready, chance.kit.code))
    return found


def _back(kind: ComingKit, lateness: LatenessLaw) -> np.ndarray:
    draws = len(lateness.shared)
    if kind.back_by is None or kind.refused:
        return np.zeros(draws)
    return np.ones(draws) if kind.out is None else lateness.back_by(kind.out, kind.back_by)
