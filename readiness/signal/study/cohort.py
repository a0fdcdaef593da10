"""The study: many simulated kits through the scorer, and how often each verdict was right.

Each kit is drawn (bench, fault, operator), recorded in all five tests, scored test by test and as a
kit. A kit is named by the study's seed and its number, so that any of them can be made again alone
(``make_kit``).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from functools import partial
from time import perf_counter
from typing import Any

import numpy as np

from readiness.signal.bench_tests.findings import NOTE
from readiness.signal.catalogue import CATALOGUE, LEADS
from readiness.signal.kit import KitVerdict, kit_verdict
from readiness.signal.limits import Limits
from readiness.signal.result import Result
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import (
    CODE_OF,
    FILE_FAULTS,
    KIT_FAULTS,
    LEAD_KINDS,
    TROUBLES,
    Fault,
    Setup,
    Simulated,
    draw_fault,
    draw_setup,
    simulate,
)
from readiness.signal.statistics.decision import FIT, NOT_FIT, RETEST

PLANS = {
    "still+flex+lift": ("still", "flex", "lift"),
    "with ground": ("still", "flex", "lift", "ground"),
}
ONE_TEST_KINDS = (
    "missing_samples",
    "not_on_bar",
    "worn_not_shorted",
    "moved_too_early",
    "wrong_order",
)
"""Slips that happen in one capture, while the rest of the kit's captures are in order."""
NOISE_FLOOR = "noise_full_band"


@dataclass(frozen=True)
class Case:
    """What a kit of the study suffers from: ``kind`` is one of the simulator's, or "sound"."""

    kind: str
    lead: str | None = None

    @property
    def label(self) -> str:
        """Name of the row in the tables."""
        return f"{self.kind} {self.lead}" if self.lead else self.kind

    @property
    def code(self) -> str:
        """The finding that speaks of it."""
        return CODE_OF.get(self.kind, self.kind)

    @property
    def group(self) -> str:
        """ "sound", "kit", "file" or "bench": who is to blame."""
        if self.kind in KIT_FAULTS:
            return "kit"
        if self.kind in FILE_FAULTS:
            return "file"
        return "bench" if self.kind in TROUBLES else "sound"


SOUND = Case("sound")
CASES = (
    SOUND,
    *(Case(kind, lead) for kind in LEAD_KINDS for lead in LEADS),
    *(Case(kind) for kind in (*KIT_FAULTS, *FILE_FAULTS, *TROUBLES) if kind not in LEAD_KINDS),
)
# A rare event among sound kits needs many of them; so does hum taken for a fault.
DECK = (SOUND,) * 9 + (Case("bench_interference"),) * 2 + CASES[1:]


@dataclass(frozen=True)
class Answer:
    """A verdict with its findings as (code, lead, verdict)."""

    verdict: str
    findings: tuple[tuple[str, str | None, str], ...]

    @property
    def named_leads(self) -> set[str]:
        """Leads that a "not fit" finding names."""
        return {lead for _, lead, verdict in self.findings if lead and verdict == NOT_FIT}

    @property
    def only_ground_unproven(self) -> bool:
        """Whether nothing but an unproven ground lead stands against the kit."""
        against = {(code, lead) for code, lead, verdict in self.findings if verdict != NOTE}
        return against == {("lead_unproven", "ground")}


@dataclass(frozen=True)
class Scored:
    """One capture of the study: ``carries`` says whether the fault was in this capture at all."""

    answer: Answer
    carries: bool
    ms: float
    noise: tuple[float, float, float] | None
    """Measured noise floor with its interval, in microvolts; ``None`` where the test gives none."""
    true_noise_uv: float


@dataclass(frozen=True)
class Hands:
    """What a kit's flex shows of moving hands. ``seen``: ``fit`` where it does, ``note`` where the
    operator had to confirm it, ``retest`` where it was sent back; ``still_as_flex``: the verdict on
    the kit's still capture offered as flex.
    """

    high_pass_hz: float
    seen: str
    still_as_flex: str


@dataclass(frozen=True)
class KitScored:
    """One kit of the study: number, case, and what the scorer said of each test and of each
    plan.
    """

    number: int
    case: Case
    fault: Fault | None
    room: str
    hands: Hands | None = None
    tests: dict[str, Scored] = field(default_factory=dict)
    plans: dict[str, Answer] = field(default_factory=dict)


@dataclass(frozen=True)
class MadeKit:
    """One kit before it is scored; ``carriers`` are the tests whose capture has the fault."""

    case: Case
    fault: Fault | None
    setup: Setup
    captures: dict[str, Simulated]
    carriers: set[str]


def make_kit(number: int, seed: int, spread: float = 1.0) -> MadeKit:
    """Kit ``number`` of the study of ``seed``: the same one each time."""
    rng = np.random.default_rng((seed, number))
    case = DECK[number % len(DECK)]
    setup = draw_setup(rng, spread)
    fault = None if case is SOUND else draw_fault(case.kind, rng, case.lead)
    if case.kind == "battery_sagging":
        setup = replace(setup, battery_channel=True)  # one value in a header has nothing to sag
    carriers = set(CATALOGUE)
    if case.kind in ONE_TEST_KINDS:
        held_only = case.kind in ("moved_too_early", "wrong_order")
        carriers = {str(rng.choice(("flex", "lift") if held_only else ("still", "flex", "lift")))}
    captures = {}
    for test, stream in zip(CATALOGUE, rng.spawn(len(CATALOGUE)), strict=True):
        faults = (fault,) if fault and test in carriers else ()
        captures[test] = simulate(test, setup, faults, stream, kit=f"S{number:05d}")
    return MadeKit(case, fault, setup, captures, carriers)


def score_kit(number: int, seed: int, spread: float = 1.0) -> KitScored:
    """Make kit ``number`` and score it with the default limits."""
    kit = make_kit(number, seed, spread)
    limits = Limits()
    results, tests = {}, {}
    for test, simulated in kit.captures.items():
        # The operators of the study do move the leads, and say so where they are asked.
        capture = replace(simulated.capture, moved=True)
        start = perf_counter()
        result = score_capture(capture, limits)
        ms = 1e3 * (perf_counter() - start)
        results[test] = result
        tests[test] = Scored(
            answer_of(result), test in kit.carriers, ms, _noise(result), simulated.truth["noise_uv"]
        )
    plans = {
        name: answer_of(kit_verdict({test: results[test] for test in plan}, plan))
        for name, plan in PLANS.items()
    }
    hands = _hands(kit, results["flex"], limits)
    return KitScored(number, kit.case, kit.fault, kit.setup.room, hands, tests, plans)


def _hands(kit: MadeKit, flex: Result, limits: Limits) -> Hands | None:
    """Of a sound kit, whether its flex shows movement, and what a still in its place would get."""
    if kit.case is not SOUND:
        return None
    unseen = {item.verdict for item in flex.findings if item.code == "no_movement"}
    seen = RETEST if RETEST in unseen else NOTE if unseen else FIT
    offered = score_capture(replace(kit.captures["still"].capture, test="flex"), limits)
    return Hands(kit.setup.high_pass_hz, seen, offered.verdict)


def answer_of(result: Result | KitVerdict) -> Answer:
    """What the study keeps of a result or of a kit's verdict."""
    return Answer(result.verdict, tuple((f.code, f.lead, f.verdict) for f in result.findings))


def _noise(result: Result) -> tuple[float, float, float] | None:
    for m in result.measurements:
        if m.name == NOISE_FLOOR and m.low is not None and m.high is not None:
            return m.value, m.low, m.high
    return None


def run_kits(
    captures: int, seed: int, spread: float = 1.0, workers: int = 1
) -> Iterator[KitScored]:
    """Score ``captures`` captures, five to a kit, in ``workers`` processes, in order."""
    numbers = range(max(1, captures // len(CATALOGUE)))
    yield from in_processes(partial(score_kit, seed=seed, spread=spread), numbers, workers)


def in_processes(work: Callable[[Any], Any], items: Iterable[Any], workers: int) -> Iterator[Any]:
    """``work`` over ``items``: here, or in ``workers`` processes."""
    if workers <= 1:
        yield from map(work, items)
        return
    with ProcessPoolExecutor(workers) as pool:
        yield from pool.map(work, items, chunksize=4)
