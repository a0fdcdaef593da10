"""How dear a plan of kits is beside the bare solver: all levels with their proof, over the solver's
one run on the matrix of the last of them.
"""

from __future__ import annotations

from datetime import date, timedelta
from time import process_time

import numpy as np

from readiness.signal.study.speed import Ratio
from rentals.planning.assigning import assign_kits
from rentals.planning.assigning_facts import BEST_FIRST, KitAhead, Level, Need
from rentals.planning.assigning_levels import Programme, answer_of, held_levels
from rentals.planning.assigning_network import build_network

RUNS = 20
SECONDS = 600.0
_FIRST_DAY = date(2027, 1, 4)


def plan_ratio(students: int = 2000, kits: int = 1500) -> Ratio:
    """Processor seconds of a whole plan over those of the bare solver on the same matrix."""
    fleet, needs = _fleet(kits), _needs(students)
    assign_kits(fleet[:2], needs[:2])  # the solver is loaded once and kept
    start = process_time()
    plan = assign_kits(fleet, needs, seconds=SECONDS)
    whole = process_time() - start
    programme = Programme(build_network(fleet, needs, []))
    values = [row.value for row in plan.levels]
    costs, held = (
        programme.costs(Level.CHANGES),
        held_levels(programme, BEST_FIRST, values[:-1]),
    )
    start = process_time()
    answer_of(programme, costs, held, SECONDS, whole=True)
    bare = process_time() - start
    rows, columns = programme.matrix.shape
    proven = "proven" if plan.proven else "not proven"
    detail = (
        f"{students} students, {kits} kits, {RUNS} runs, {proven}: {whole:.1f} s, solver"
        f" {bare:.1f} s; {rows} rows, {columns} columns"
    )
    return Ratio("Plan of kits / the bare solver", whole / bare, 10.0, "x", detail)


def _fleet(count: int) -> list[KitAhead]:
    """Kits of which two thirds are here and the others come back over three months."""
    draw = np.random.default_rng(1)
    kits = []
    for number in range(count):
        away = bool(draw.random() < 1 / 3)
        free_on = _FIRST_DAY + timedelta(days=int(draw.integers(90)) if away else 0)
        to_do = int(away or draw.random() < 0.2)
        kits.append(KitAhead(f"K{number:05d}", 1, free_on, int(draw.integers(8)), to_do, away))
    return kits


def _needs(count: int) -> list[Need]:
    """Students on runs of six to twelve weeks over a year and a half."""
    draw = np.random.default_rng(2)
    runs = [(int(draw.integers(10, 500)), int(draw.choice([42, 70, 84]))) for _ in range(RUNS)]
    needs = []
    for who in range(count):
        start, length = runs[who % RUNS]
        first = _FIRST_DAY + timedelta(days=start)
        last, latest = first + timedelta(days=length + 20), first + timedelta(days=length // 2)
        needs.append(Need(who, 1, first, last, latest))
    return needs
