"""Chances that are known because they were worked out for the very same facts before: most of what
happens at a desk changes none of them. None of what is kept names a person.
"""

from __future__ import annotations

from datetime import date
from functools import lru_cache

import numpy as np

from rentals.planning.bench_chance import BenchRecord
from rentals.planning.lateness import PastLoan
from rentals.planning.lateness_law import LatenessLaw, learn_lateness
from rentals.planning.run_chance import ComingKit, RunChance, run_chance

SEED = 2027
"""The same facts give the same chances, whoever looks."""


@lru_cache(maxsize=4)
def known_lateness(loans: tuple[PastLoan, ...], today: date, draws: int) -> LatenessLaw:
    """As `learn_lateness`. Nothing is to be drawn from it but by `known_chance`."""
    return learn_lateness(loans, today, np.random.default_rng(SEED), draws)


@lru_cache(maxsize=16)
def known_chance(
    need: int,
    sure: int,
    coming: tuple[ComingKit, ...],
    law: LatenessLaw,
    bench: BenchRecord,
    by_kit: bool,
) -> RunChance:
    """As `run_chance`, by the draws of a law from its start: so that a run's chances are the same
    on every page, whichever runs were looked at before it.
    """
    return run_chance(need, sure, coming, law.from_start(), bench, by_kit=by_kit)
