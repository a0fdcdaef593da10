"""The table of chances: which faults of many simulated kits would have been seen, by rate, room and
tests done.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from itertools import combinations

from readiness.signal.catalogue import CATALOGUE
from readiness.signal.chances import key_of_tests, room_of, speed_of
from readiness.signal.kit import kit_verdict
from readiness.signal.limits import METHOD_VERSION, Limits
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import Setup, simulate
from readiness.signal.statistics.decision import FIT
from readiness.signal.study.cohort import DECK, Answer, Case, answer_of, in_processes, make_kit

PLANS_KEPT = tuple(
    plan
    for size in range(1, len(CATALOGUE) + 1)
    for plan in combinations(CATALOGUE, size)
    if set(plan) != {"ground"}
)
"""Every choice of tests a kit can be judged on."""


@dataclass(frozen=True)
class Sight:
    """One faulty kit: where it was recorded, and by which tests its fault was seen (``None``: says
    nothing).
    """

    label: str
    speed: str
    room: str
    seen: dict[str, bool | None]


def look_at(number: int, seed: int) -> Sight:
    """Score kit ``number`` of the study by every choice of tests."""
    kit = make_kit(number, seed)
    limits = Limits()
    results = {
        test: score_capture(simulated.capture, limits) for test, simulated in kit.captures.items()
    }
    seen = {
        key_of_tests(plan): was_seen(
            kit.case, answer_of(kit_verdict({test: results[test] for test in plan}, plan))
        )
        for plan in PLANS_KEPT
    }
    return Sight(kit.case.label, speed_of(kit.setup.rate_hz), _room(kit.setup, limits), seen)


def _room(setup: Setup, limits: Limits) -> str:
    """The room as a sound kit shows it: the fault itself may hum."""
    hum = score_capture(simulate("still", setup).capture, limits).value_of("mains_rms")
    return room_of(hum or 0.0)


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
    """``kits`` faulty kits of the study of ``seed``."""
    faulty = [place for place, case in enumerate(DECK) if case.group == "kit"]
    numbers = [
        len(DECK) * (k // len(faulty)) + faulty[k % len(faulty)] for k in range(max(1, kits))
    ]
    yield from in_processes(partial(look_at, seed=seed), numbers, workers)


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
