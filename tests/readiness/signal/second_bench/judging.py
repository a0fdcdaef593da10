"""Kits of the second bench before the scorer."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial

import numpy as np

from readiness.signal.bench_tests.findings import NOTE
from readiness.signal.errors import CaptureRefused
from readiness.signal.kit import kit_verdict
from readiness.signal.limits import Limits
from readiness.signal.result import Finding, Result
from readiness.signal.score import score_capture
from readiness.signal.statistics.decision import NOT_FIT

from .ailments import FILE_AILMENTS, KIT_AILMENTS, LEAD_AILMENTS, TROUBLES, Ailment
from .capturing import DrawnKit, draw_kit, record
from .noise import judged_band

PLAN = ("still", "flex", "lift")
WITH_POST = (*PLAN, "ground")
DECK = (
    *("sound",) * 20,
    *("open", "intermittent") * 3,
    *(kind for kind in KIT_AILMENTS if kind not in LEAD_AILMENTS),
    "resistive",
    *FILE_AILMENTS,
    *TROUBLES,
    "loud",
)
"""What comes round: one kit in a good two is sound."""
NOISE_FLOOR = "noise_full_band"
REFUSED = "refused"
HUM_UV = (30.0, 200.0)


@dataclass(frozen=True)
class KitSeen:
    """One kit and what was said of it. ``against`` holds (code, lead, verdict) of every finding but
    notes; ``noise`` the interval of its noise floor and the truth; ``tests`` each test's verdict.
    """

    number: int
    label: str
    ailment: Ailment | None
    trouble: str
    verdict: str
    against: tuple[tuple[str, str | None, str], ...]
    proven: tuple[str, ...]
    tests: dict[str, str]
    noise: tuple[float, float, float] | None
    hum_uv: float

    @property
    def named(self) -> set[str]:
        """Leads that a "not fit" finding names."""
        return {lead for _, lead, verdict in self.against if lead and verdict == NOT_FIT}

    @property
    def only_ground_unproven(self) -> bool:
        """Whether nothing but an unproven ground lead stands against the kit."""
        return {(code, lead) for code, lead, _ in self.against} == {("lead_unproven", "ground")}


def case_of(number: int) -> str:
    """The case of kit ``number``."""
    return DECK[number % len(DECK)]


def drawn(number: int, seed: int, case: str | None = None) -> tuple[DrawnKit, np.random.Generator]:
    """Kit ``number`` of ``seed``, and the numbers its captures are drawn from."""
    rng = np.random.default_rng((seed, number))
    return draw_kit(case or case_of(number), rng, f"T{number:05d}"), rng


def judge(
    number: int,
    seed: int,
    case: str | None = None,
    plan: tuple[str, ...] = PLAN,
    *,
    stated: bool = False,
) -> KitSeen:
    """Record kit ``number`` of ``seed`` in each test, score each, and the kit; ``stated``: its
    type states the corners and the notch of its amplifier.
    """
    kit, rng = drawn(number, seed, case)
    limits = _stated(kit) if stated else Limits()
    results: dict[str, Result] = {}
    tests = dict.fromkeys(plan, REFUSED)
    for test, stream in zip(plan, rng.spawn(len(plan)), strict=True):
        try:
            results[test] = score_capture(record(kit, test, stream), limits)
        except CaptureRefused:
            continue
        tests[test] = results[test].verdict
    verdict = kit_verdict(results, plan)
    noise = _noise(results.get("still"), kit)
    return KitSeen(
        number=number,
        label=kit.label,
        ailment=kit.ailment,
        trouble=kit.trouble,
        verdict=verdict.verdict,
        against=_against(verdict.findings),
        proven=verdict.proven,
        tests=tests,
        noise=noise,
        hum_uv=kit.room.loop_uv,
    )


def _stated(kit: DrawnKit) -> Limits:
    front = kit.front
    return Limits(
        high_pass_hz=front.high_pass_hz,
        low_pass_hz=front.low_pass_hz,
        notch=front.notch_q > 0,
    )


def _against(findings: tuple[Finding, ...]) -> tuple[tuple[str, str | None, str], ...]:
    return tuple((item.code, item.lead, item.verdict) for item in findings if item.verdict != NOTE)


def _noise(still: Result | None, kit: DrawnKit) -> tuple[float, float, float] | None:
    """Lowest and highest noise floor that was said, and the true one with the converter's."""
    low, high = judged_band(kit.front.rate_hz)
    steps = kit.converter.step_uv * np.sqrt((high - low) / (6 * kit.front.rate_hz))
    for row in still.measurements if still else ():
        if row.name == NOISE_FLOOR and row.low is not None and row.high is not None:
            return row.low, row.high, float(np.hypot(kit.noise_uv, steps))
    return None


def judge_kits(
    kits: int,
    seed: int,
    workers: int = 1,
    plan: tuple[str, ...] = PLAN,
    *,
    stated: bool = False,
) -> Iterator[KitSeen]:
    """Kits 0 to ``kits`` of ``seed``, in order, in ``workers`` processes."""
    work = partial(judge, seed=seed, plan=plan, stated=stated)
    if workers <= 1:
        yield from map(work, range(kits))
        return
    with ProcessPoolExecutor(workers) as pool:
        yield from pool.map(work, range(kits), chunksize=4)
