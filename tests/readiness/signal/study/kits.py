"""Kits of a study made up by hand."""

from __future__ import annotations

from readiness.signal.catalogue import CATALOGUE
from readiness.signal.simulator.captures import Fault
from readiness.signal.study.cohort import (
    PLANS,
    SOUND,
    Answer,
    Case,
    KitScored,
    Scored,
)

FIT = Answer("fit", ())


UNPROVEN = Answer("retest", (("lead_unproven", "ground", "retest"),))


def not_fit(code: str, lead: str | None = None) -> Answer:
    """An answer that finds one thing against a kit."""
    return Answer("not fit", ((code, lead, "not fit"),))


def kit(
    case: Case,
    view: Answer,
    noise: tuple[float, float, float] | None = (1.0, 0.9, 1.1),
    true: float = 1.0,
) -> KitScored:
    """A kit with this answer in every test and plan; ``noise`` and ``true`` are uV."""
    tests = {test: Scored(view, True, 5.0, noise, true) for test in CATALOGUE}
    fault = None if case is SOUND else Fault(case.kind, lead=case.lead)
    return KitScored(0, case, fault, "quiet", None, tests, dict.fromkeys(PLANS, view))
