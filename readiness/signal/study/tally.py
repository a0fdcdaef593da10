"""From the kits of a study to its figures: one dictionary of plain numbers, which the text and
``--json`` both show.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from readiness.signal.bench_tests.findings import NOTE
from readiness.signal.catalogue import CATALOGUE
from readiness.signal.simulator.captures import LEAD_KINDS
from readiness.signal.statistics.decision import FIT, NOT_FIT, RETEST
from readiness.signal.statistics.shares import Share, share
from readiness.signal.study.cohort import CASES, PLANS, Answer, Case, KitScored

VERDICTS = (FIT, RETEST, NOT_FIT)
SLOW_HIGH_PASS_HZ = 10.0
"""Up to here an amplifier's high-pass lets some of a hand's movement through."""
GROUND_GAP = Case("intermittent_lead", "ground")


def tally(kits: list[KitScored]) -> dict[str, Any]:
    """All tables of the study but its curves; shares as ``Share``."""
    return {
        "kits": len(kits),
        "captures": len(kits) * len(CATALOGUE),
        "plans": {plan: _table(kits, _by_plan(plan)) for plan in PLANS},
        "goals": {plan: goals(kits, plan) for plan in PLANS},
        "tests": {test: _table(kits, _by_test(test)) for test in CATALOGUE},
        "cannot_see": {test: sorted(kind.blind_to) for test, kind in CATALOGUE.items()},
        "coverage": {test: coverage(kits, test) for test in ("still", "flex")},
        "movement": movement(kits),
        "ms": speed(kits),
    }


def _by_plan(plan: str) -> Callable[[KitScored], Answer | None]:
    return lambda kit: kit.plans[plan]


def _by_test(test: str) -> Callable[[KitScored], Answer | None]:
    def look(kit: KitScored) -> Answer | None:
        scored = kit.tests[test]
        # A kit whose slip happened in another capture says nothing of this test.
        return scored.answer if scored.carries else None

    return look


def _table(
    kits: list[KitScored], look: Callable[[KitScored], Answer | None]
) -> list[dict[str, Any]]:
    """One row a case: share of each verdict, and the lead named rightly, wrongly or left open."""
    rows = []
    for case in CASES:
        views = [view for kit in kits if kit.case == case and (view := look(kit))]
        if not views:
            continue
        row: dict[str, Any] = {"case": case.label, "group": case.group, "kits": len(views)}
        row |= {verdict: share([view.verdict == verdict for view in views]) for verdict in VERDICTS}
        row["code"] = share(
            [any(code == case.code for code, _, _ in view.findings) for view in views]
        )
        if case.kind in LEAD_KINDS:
            row |= naming([(view, case.lead) for view in views])
        rows.append(row)
    return rows


def naming(views: list[tuple[Answer, str | None]]) -> dict[str, Share]:
    """Of views called not fit: lead named rightly (alone), wrongly (another one too, or instead),
    or left open.
    """
    pairs = [(view.named_leads, lead) for view, lead in views if view.verdict == NOT_FIT]
    return {
        "named_right": share([leads == {lead} for leads, lead in pairs]),
        "named_wrong": share([bool(leads - {lead}) for leads, lead in pairs]),
        "named_none": share([not leads for leads, _ in pairs]),
    }


def goals(kits: list[KitScored], plan: str) -> dict[str, Share]:
    """The figures that have goals, for kits judged on ``plan``."""
    views = [(kit.case, kit.plans[plan]) for kit in kits]
    sound = [view for case, view in views if case.group == "sound"]
    faulty = [(case, view) for case, view in views if case.group == "kit"]
    ground_gap = [view.verdict == FIT for case, view in faulty if case == GROUND_GAP]
    others = [(case, view.verdict == FIT) for case, view in faulty if case != GROUND_GAP]
    by_case = [
        share([hit for c, hit in others if c == case])
        for case in CASES
        if any(c == case for c, _ in others)
    ]
    hum = [view.verdict == NOT_FIT for case, view in views if case.kind == "bench_interference"]
    rubbed = [view.verdict == NOT_FIT for case, view in views if case.kind == "friction_spikes"]
    retests = [view.verdict == RETEST for view in sound]
    for_ground = [view.verdict == RETEST and view.only_ground_unproven for view in sound]
    leads = [(view, case.lead) for case, view in faulty if case.kind in LEAD_KINDS]
    return {
        "fault_passed": share([hit for _, hit in others]),
        "worst_fault_passed": max(by_case, key=lambda s: s.value, default=Share(0, 0)),
        "ground_gap_passed": share(ground_gap),
        "sound_not_fit": share([view.verdict == NOT_FIT for view in sound]),
        "sound_retest": share(retests),
        "sound_retest_but_ground": share(
            [r and not g for r, g in zip(retests, for_ground, strict=True)]
        ),
        **naming(leads),
        "hum_called_fault": share(hum),
        "friction_called_fault": share(rubbed),
    }


def coverage(kits: list[KitScored], test: str) -> dict[str, Share | float]:
    """How often the 95 % interval of the noise floor holds the truth, on kits without a fault that
    bends the noise.
    """
    rows = [
        (scored.noise, scored.true_noise_uv)
        for kit in kits
        if kit.case.kind
        in (
            "sound",
            "bench_interference",
            "excess_noise",
            "battery_low",
            "battery_sagging",
        )
        and (scored := kit.tests[test]).noise
    ]
    inside = [low <= truth <= high for (_, low, high), truth in rows]
    bias = (
        float(np.mean([value / truth for (value, _, _), truth in rows])) if rows else float("nan")
    )
    width = (
        float(np.mean([(high - low) / value for (value, low, high), _ in rows]))
        if rows
        else float("nan")
    )
    return {"inside": share(inside), "mean_ratio": bias, "mean_width": width}


def movement(kits: list[KitScored]) -> dict[str, Share]:
    """How often honest hands are sent back or asked, and stills offered as flex are not passed, by
    the amplifier's high-pass.
    """
    hands = [kit.hands for kit in kits if kit.hands]
    offered = {
        "caught": [h for h in hands if h.high_pass_hz <= SLOW_HIGH_PASS_HZ],
        "caught_above": [h for h in hands if h.high_pass_hz > SLOW_HIGH_PASS_HZ],
    }
    return {
        "sent_back": share([h.seen == RETEST for h in hands]),
        "confirmed": share([h.seen == NOTE for h in hands]),
        **{name: share([h.still_as_flex != FIT for h in some]) for name, some in offered.items()},
    }


def speed(kits: list[KitScored]) -> dict[str, float]:
    """Milliseconds to score one capture: median and 95 % point, by test."""
    figures = {}
    for test in CATALOGUE:
        ms = [kit.tests[test].ms for kit in kits]
        figures[test] = float(np.median(ms))
        figures[f"{test} 95 %"] = float(np.quantile(ms, 0.95))
    return figures


def plain(value: object) -> object:
    """The same with every ``Share`` as hits, total and interval, ready for JSON."""
    if isinstance(value, Share):
        low, high = value.interval
        return {"hits": value.hits, "total": value.total, "low": low, "high": high}
    if isinstance(value, dict):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, list):
        return [plain(item) for item in value]
    return value
