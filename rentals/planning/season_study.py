"""Chances stated by the forecast against what came true in simulated seasons, by tenths. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from contextlib import nullcontext
from dataclasses import dataclass, field
from random import Random

import numpy as np

from rentals.planning.lateness_law import learn_lateness
from rentals.planning.run_chance import ComingKit, RunChance, run_chance
from rentals.planning.seasons import LAWS, LatenessMaker, Season, play

STATED = 0.9
DRAWS = 100
TENTHS = 10
BATCH = 100
"""Seasons that are played in one go, by one worker."""


@dataclass
class CalibrationRow:
    """Statements whose chance was in one tenth: how many, their chances added up, and how many
    came true.
    """

    statements: int = 0
    stated: float = 0.0
    true: float = 0.0

    def add(self, chance: float, happened: float) -> None:
        self.statements += 1
        self.stated += chance
        self.true += happened

    def join(self, more: CalibrationRow) -> None:
        """Take in the statements of another row."""
        self.statements += more.statements
        self.stated += more.stated
        self.true += more.true


def _empty_rows() -> list[CalibrationRow]:
    return [CalibrationRow() for _ in range(TENTHS)]


@dataclass
class LawCalibration:
    """What became of the statements under one law of lateness.

    `runs` are chances to serve a whole run, `kits` those of each kit to be ready, both by tenths;
    `nine_in_ten` are the statements made at exactly 90 %.
    """

    law: str
    runs: list[CalibrationRow] = field(default_factory=_empty_rows)
    kits: list[CalibrationRow] = field(default_factory=_empty_rows)
    nine_in_ten: CalibrationRow = field(default_factory=CalibrationRow)
    trends: int = 0
    seasons: int = 0

    def join(self, part: LawCalibration) -> None:
        """Take in what some more seasons came to."""
        for mine, theirs in ((self.runs, part.runs), (self.kits, part.kits)):
            for row, more in zip(mine, theirs, strict=True):
                row.join(more)
        self.nine_in_ten.join(part.nine_in_ten)
        self.trends += part.trends
        self.seasons += part.seasons


def study(
    seasons: int,
    seed: int,
    workers: int = 1,
    progress: Callable[[str], None] = lambda line: None,
    laws: Sequence[LatenessMaker] = LAWS,
) -> Iterator[LawCalibration]:
    """Play so many seasons under each law, and hold each forecast against what came true.

    The same seed plays the same seasons however many workers there are. After each batch of
    seasons `progress` hears a line.
    """
    batches = [min(BATCH, seasons - start) for start in range(0, seasons, BATCH)]
    with ProcessPoolExecutor(workers) if workers > 1 else nullcontext() as pool:
        for law in laws:
            place = LAWS.index(law)
            jobs = [(place, seed, number, size) for number, size in enumerate(batches)]
            parts = pool.map(play_batch, jobs) if pool else map(play_batch, jobs)
            found = LawCalibration(law.name)
            for part in parts:
                found.join(part)
                progress(f"{law.name}: {found.seasons} of {seasons} seasons")
            yield found


def play_batch(job: tuple[int, int, int, int]) -> LawCalibration:
    """Some seasons under one law. A job is the law's place, the seed, the batch and its size."""
    place, seed, number, size = job
    law = LAWS[place]
    random = Random(f"{seed} {law.name} {number}")  # noqa: S311 - a simulation keeps no secret
    rng = np.random.default_rng([seed, place, number])
    found = LawCalibration(law.name)
    for _ in range(size):
        _hold_against(play(law, random), found, rng)
    return found


def _hold_against(season: Season, found: LawCalibration, rng: np.random.Generator) -> None:
    lateness = learn_lateness(season.loans, season.today, rng, DRAWS)
    kits = [ComingKit(str(place), season.back_by, loan) for place, loan in enumerate(season.coming)]
    chance = run_chance(season.need, season.shelf, kits, lateness, season.bench)
    found.seasons += 1
    found.trends += lateness.trend.is_clear
    count = season.shelf + sum(season.ready)
    _note(found.runs, chance.serve_all, count >= season.need)
    for kit in chance.kits:
        _note(found.kits, kit.ready, season.ready[int(kit.kit.code)])
    if kits:
        found.nine_in_ten.add(STATED, _true_at(chance, count))


def _true_at(chance: RunChance, count: int) -> float:
    """Whether a number of kits that is stated with exactly 90 % is reached.

    Such a number lies between two whole ones: one of them is stated, with the weights that make
    it 90 %, and the mean over that choice is what comes true.
    """
    most = len(chance.law) - 1
    low = max(k for k in range(most + 1) if chance.at_least(k) >= STATED)
    above, below = chance.at_least(low), chance.at_least(low + 1) if low < most else 0.0
    weight = (STATED - below) / (above - below)
    return weight * (count >= low) + (1 - weight) * (count >= low + 1)


def _note(rows: list[CalibrationRow], chance: float, happened: bool) -> None:
    rows[min(int(chance * TENTHS), TENTHS - 1)].add(chance, happened)
