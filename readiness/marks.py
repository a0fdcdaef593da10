"""How the states of the bench are shown, by the tones and shapes of `rentals.marks`."""

from __future__ import annotations

from django.db.models import TextChoices

from readiness.signal.bench_tests.findings import NOTE
from readiness.states import BenchDayState, CaptureStatus, VerdictWord
from rentals.marks import Looks, Mark, Sign, mark_in, mark_of

FAMILIES: dict[type[TextChoices], Looks] = {
    VerdictWord: {
        VerdictWord.FIT: ("ready", "tick"),
        VerdictWord.RETEST: ("warn", "turn"),
        VerdictWord.NOT_FIT: ("wrong", "cross"),
    },
    CaptureStatus: {
        CaptureStatus.WAITING: ("quiet", "clock"),
        CaptureStatus.SCORING: ("away", "half"),
        CaptureStatus.ASKING: ("warn", "triangle"),
        CaptureStatus.UNREADABLE: ("wrong", "cross"),
        CaptureStatus.SCORED: ("quiet", "tick"),
    },
    BenchDayState: {
        BenchDayState.UNTESTED: ("quiet", "dash"),
        BenchDayState.LEARNING: ("quiet", "dash"),
        BenchDayState.IN_CONTROL: ("ready", "tick"),
        BenchDayState.SUSPECT: ("warn", "triangle"),
    },
}


def bench_mark(state: TextChoices) -> Mark:
    """The mark of a state of the bench; raises KeyError for a member without a look."""
    return mark_in(FAMILIES[type(state)], state)


def verdict_mark(word: str, otherwise: str = "") -> Mark:
    """The mark of a verdict on file; where there is none yet that of "not judged", in the words
    `otherwise`.
    """
    if not word:
        return mark_of(Sign.NOT_JUDGED, otherwise)
    return bench_mark(VerdictWord(word))


def finding_mark(verdict: str) -> Mark:
    """The mark of a finding: of the verdict it carries, or of a mere note."""
    return mark_of(Sign.NOTE) if verdict == NOTE else bench_mark(VerdictWord(verdict))
