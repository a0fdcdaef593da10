"""The table of chances: which faults of many simulated kits would have been seen, by rate, room and
tests done.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from itertools import combinations

import numpy as np

from readiness.signal.catalogue import CATALOGUE
from readiness.signal.chances import key_of_tests, room_of, speed_of
from readiness.signal.kit import kit_verdict
from readiness.signal.limits import METHOD_VERSION, Limits
from readiness.signal.result import Result
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import Fault, Setup, draw_fault, draw_setup, simulate
from readiness.signal.statistics.decision import FIT
from readiness.signal.study.cohort import CASES, Answer, Case, answer_of, in_processes

PLANS_KEPT = tuple(
    plan
    for size in range(1, len(CATALOGUE) + 1)
    for plan in combinations(CATALOGUE, size)
    if set(plan) != {"ground"}
)
"""Every choice of tests a kit can be judged on."""
FAULTY = tuple(case for case in CASES if case.group == "kit")
_BENT_ONLY = ("still", "lift", "worn")
UNTOUCHED = {
    "intermittent_lead": _BENT_ONLY,
    "resistive_lead": _BENT_ONLY,
    "leads_shorted": ("still", "flex", "ground"),
    "leaking_leads": ("still", "flex", "ground"),
    "swapped_sockets": ("still", "flex"),
}
"""Tests whose capture is that of a sound kit, by the fault."""


@dataclass(frozen=True)
class Sight:
    """One faulty kit: where it was recorded, and by which tests its fault was seen (``None``: says
    nothing).
    """

    label: str
    speed: str
    room: str
    seen: dict[str, bool | None]


def look_at(bench: int, seed: int) -> list[Sight]:
    """Score a kit of each fault on one bench by every choice of tests.

    What a fault leaves as it is in a test is recorded once for all of them, from the sound kit.
    """
    rng = np.random.default_rng((seed, bench))
    setup = replace(draw_setup(rng), battery_channel=True)
    streams = dict(zip(CATALOGUE, rng.spawn(len(CATALOGUE)), strict=True))
    sound = {test: _scored(test, setup, (), streams[test]) for test in CATALOGUE}
    place = (speed_of(setup.rate_hz), room_of(sound["still"].value_of("mains_rms") or 0.0))
    looks = []
    for case in FAULTY:
        fault = (draw_fault(case.kind, rng, case.lead),)
        shows = [test for test in CATALOGUE if test not in UNTOUCHED.get(case.kind, ())]
        own = {test: _scored(test, setup, fault, streams[test]) for test in shows}
        looks.append(Sight(case.label, *place, _seen(case, sound | own)))
    return looks


def _scored(test: str, setup: Setup, faults: tuple[Fault, ...], rng: np.random.Generator) -> Result:
    return score_capture(replace(simulate(test, setup, faults, rng).capture, moved=True), Limits())


def _seen(case: Case, results: dict[str, Result]) -> dict[str, bool | None]:
    plans = {key_of_tests(plan): plan for plan in PLANS_KEPT}
    return {
        key: was_seen(case, answer_of(kit_verdict({test: results[test] for test in plan}, plan)))
        for key, plan in plans.items()
    }


def was_seen(case: Case, answer: Answer) -> bool | None:
    """Whether the fault stood in the way of a pass.

    A ground that was not proven holds up every kit alike. It is no sight of another fault; of an
    intermittent ground it says nothing, for a kit that passed had its ground proven.
    """
    if answer.verdict == FIT:
        return False
    if not answer.only_ground_unproven or case.label == "open_lead ground":
        return True
    return None if case.lead == "ground" else False


def sights(kits: int, seed: int, workers: int) -> Iterator[Sight]:
    """``kits`` faulty kits of the study of ``seed``, or as many more as fill the last bench."""
    benches = range(max(1, -(-kits // len(FAULTY))))
    for looks in in_processes(partial(look_at, seed=seed), benches, workers):
        yield from looks


def chances_json(looks: Iterable[Sight], seed: int) -> str:
    """The table as it is stored: by tests done, fault, and rate and room, the seen ones and all."""
    seen: dict[str, dict[str, dict[str, list[int]]]] = defaultdict(
        lambda: defaultdict(lambda: defaultdict(lambda: [0, 0]))
    )
    kits = 0
    for look in looks:
        kits += 1
        for tests, hit in look.seen.items():
            if hit is not None:
                row = seen[tests][look.label][f"{look.speed} {look.room}"]
                row[0] += hit
                row[1] += 1
    head = {"method": METHOD_VERSION, "kits": kits, "seed": seed}
    rows = ",\n".join(f"{json.dumps(tests)}:{_compact(seen[tests])}" for tests in sorted(seen))
    return f'{json.dumps(head)[:-1]}, "seen": {{\n{rows}\n}}}}\n'


def _compact(value: object) -> str:
    return json.dumps(value, separators=(",", ":"), sort_keys=True)
