"""Curves of the study: how often an open is found by its duration, excess noise by its size, and a
leak between leads by its resistance.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np

from readiness.signal.limits import Limits
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import Fault, draw_setup, simulate
from readiness.signal.statistics.decision import FIT, NOT_FIT
from readiness.signal.statistics.shares import Share, share
from readiness.signal.study.cohort import in_processes
from readiness.signal.study.counts import NoisePower, noise_power

DURATIONS_S = (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5)
NOISE_TIMES = (1.0, 1.01, 1.02, 1.03, 1.05, 1.075, 1.1, 1.2, 1.5, 2.0)
LEAK_KOHM = (1.0, 3.0, 10.0, 30.0, 100.0, 300.0)
LEAKING = ("A+B", "A+ground", "B+ground")
OPEN_SERIES = (("flex", "A"), ("flex", "B"), ("flex", "ground"), ("ground", "ground"))


@dataclass(frozen=True)
class OpenPoint:
    """Single opens of ``seconds`` in one lead: shares of captures called not fit, and not passed
    (retest too).
    """

    test: str
    lead: str
    seconds: float
    not_fit: Share
    not_passed: Share


@dataclass(frozen=True)
class NoisePoint:
    """Captures at ``times`` the limit: shares called not fit and not passed, and what theory allows
    at best.
    """

    times: float
    fails: Share
    not_passed: Share
    theory: NoisePower


@dataclass(frozen=True)
class LeakPoint:
    """Leads joined by ``kohm``: shares of ``lift`` captures called not fit, and of those that prove
    less than both active leads.
    """

    kohm: float
    not_fit: Share
    not_passed: Share


def open_curve(per_point: int, seed: int, spread: float = 1.0, workers: int = 1) -> list[OpenPoint]:
    """Probability of detecting one open, for each lead and test, from 1 to 500 ms.

    A series has the same benches at every duration, so that its points differ by the duration
    alone.
    """
    points = []
    for k, (test, lead) in enumerate(OPEN_SERIES):
        for seconds in DURATIONS_S:
            work = partial(_open_verdict, test, lead, seconds, (seed, 1, k), spread)
            verdicts = list(in_processes(work, range(per_point), workers))
            not_fit, not_passed = (
                share([v == NOT_FIT for v in verdicts]),
                share([v != FIT for v in verdicts]),
            )
            points.append(OpenPoint(test, lead, seconds, not_fit, not_passed))
    return points


def _open_verdict(
    test: str, lead: str, seconds: float, key: tuple[int, ...], spread: float, number: int
) -> str:
    rng = np.random.default_rng((*key, number))
    simulated = simulate(
        test, draw_setup(rng, spread), (Fault("intermittent_lead", seconds, lead),), rng
    )
    return score_capture(simulated.capture, Limits()).verdict


def noise_curve(
    per_point: int, seed: int, spread: float = 1.0, workers: int = 1
) -> list[NoisePoint]:
    """Probability of refusing noise above the limit, at 1024 Hz (2 B T = 7,792), beside the
    chi-square power.
    """
    points = []
    for j, times in enumerate(NOISE_TIMES):
        work = partial(_noise_verdict, times, (seed, 2, j), spread)
        verdicts = list(in_processes(work, range(per_point), workers))
        fails, not_passed = (
            share([v == NOT_FIT for v in verdicts]),
            share([v != FIT for v in verdicts]),
        )
        points.append(NoisePoint(times, fails, not_passed, noise_power(times, _dof())))
    return points


def _dof() -> float:
    return 2 * (0.4 * 1024 - 20) * 10


def _noise_verdict(times: float, key: tuple[int, ...], spread: float, number: int) -> str:
    rng = np.random.default_rng((*key, number))
    setup = replace(draw_setup(rng, spread, room="quiet"), rate_hz=1024.0, low_pass_hz=430.0)
    simulated = simulate("still", setup, (Fault("excess_noise", times),), rng)
    return score_capture(simulated.capture, Limits()).verdict


def leak_curve(per_point: int, seed: int, spread: float = 1.0, workers: int = 1) -> list[LeakPoint]:
    """Probability of seeing leaking insulation when the leads are lifted, the same benches at every
    resistance.
    """
    points = []
    for kohm in LEAK_KOHM:
        work = partial(_leak_verdict, kohm, (seed, 3), spread)
        verdicts = list(in_processes(work, range(per_point), workers))
        not_fit, not_passed = (
            share([verdict == NOT_FIT for verdict, _ in verdicts]),
            share([not both_proven for _, both_proven in verdicts]),
        )
        points.append(LeakPoint(kohm, not_fit, not_passed))
    return points


def _leak_verdict(
    kohm: float, key: tuple[int, ...], spread: float, number: int
) -> tuple[str, bool]:
    """Verdict of a lift, and whether it proved both active leads."""
    rng = np.random.default_rng((*key, number))
    setup = draw_setup(rng, spread)
    fault = Fault("leaking_leads", kohm, LEAKING[number % len(LEAKING)])
    result = score_capture(simulate("lift", setup, (fault,), rng).capture, Limits())
    return result.verdict, {"A", "B"} <= set(result.proven) and result.verdict != NOT_FIT


def plain_curves(
    opens: list[OpenPoint], noise: list[NoisePoint], leaks: list[LeakPoint]
) -> dict[str, Any]:
    """The curves as plain numbers, ready for JSON."""
    return {
        "leaks": [
            {"kohm": p.kohm, "total": p.not_fit.total}
            | {"not_fit": p.not_fit.value, "not_passed": p.not_passed.value}
            for p in leaks
        ],
        "opens": [
            {"test": p.test, "lead": p.lead, "seconds": p.seconds, "total": p.not_fit.total}
            | {"not_fit": p.not_fit.value, "not_passed": p.not_passed.value}
            for p in opens
        ],
        "noise": [
            {
                "times": p.times,
                "not_fit": p.fails.value,
                "not_passed": p.not_passed.value,
                "total": p.fails.total,
            }
            | {"theory_not_fit": p.theory.fails, "theory_not_passed": p.theory.not_passed}
            for p in noise
        ],
    }
