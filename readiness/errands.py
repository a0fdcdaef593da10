"""What the bench does in the background: captures are scored again by the plan of now."""

from __future__ import annotations

from dataclasses import dataclass

from readiness.actions.rescore import rescore
from readiness.models import Capture
from rentals.actions.errand_claims import ErrandProgress
from rentals.actions.errand_work import ErrandResult, errand_work
from rentals.codes import grouped
from rentals.counts import counted
from rentals.models import Errand, ErrandKind


@errand_work(ErrandKind.RESCORE)
def rescore_kit_type(errand: Errand, progress: ErrandProgress) -> ErrandResult:
    """Score the captures of a kit type whose limits or method have changed since. Each batch counts
    with its kits, so another worker goes on where one has ended. Its fact: ``kit_type``.
    """
    taken_up = errand.began_at != errand.claimed_at
    captures = Capture.objects.filter(kit__kit_type=errand.facts["kit_type"])
    report = rescore(
        captures,
        only_stale=True,
        why="scored again by the plan of now",
        actor=errand.asked_by,
        on_progress=_Steps(errand, progress),
    )
    scored = counted(report.captures, "capture was", "captures were")
    verdicts = counted(len(report.changed), "has", "have")
    outcome = f"{scored} scored again; {verdicts} another verdict now."
    if not report.captures:
        outcome = "Every capture was scored by the limits of now already."
    if taken_up:
        outcome += " A worker ended in the middle: what it had done counts, and is not named here."
    named = [
        f"Kit {grouped(code)}: {_words(before)} before, {_words(after)} now."
        for code, (before, after) in report.kits.items()
    ]
    return ErrandResult(outcome, named=named)


@dataclass
class _Steps:
    """Tells of captures as they are scored."""

    errand: Errand
    progress: ErrandProgress
    told: int = 0

    def __call__(self, done: int, total: int) -> None:
        if done:
            self.errand.said = f"{counted(done, 'capture was', 'captures were')} scored again."
            self.progress.step(done - self.told)
        else:
            self.progress.begin(total, "captures scored")
        self.told = done


def _words(verdict: str) -> str:
    return verdict or "not finished"
