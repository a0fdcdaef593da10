"""What is next at the bench: for a finding, a capture, a kit and the day, one act each.

Facts in, words and a place out. Pages, lists and drops all ask here, so that the same capture never
asks for two things. ``readiness.selectors.next_steps`` makes addresses of the places.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from readiness.signal.bench_tests.findings import FINDING_KINDS, TICK
from readiness.signal.catalogue import NOISE_TEST
from readiness.states import BenchDayState, CaptureStatus, VerdictWord

LONGEST_LABEL = 36


class ActPlace(StrEnum):
    """Where an act of the bench is done."""

    CAPTURE = "capture"
    ANSWER = "answer"
    COLUMNS = "columns"
    TIMER = "timer"
    ROUND = "round"
    BENCH = "bench"
    KIT_BENCH = "kit_bench"
    MOVED = "moved"
    BATTERY = "battery"
    SWAP = "swap"
    KIT = "kit"


#: Places on the page of the capture itself: there, no button leads to them.
ON_CAPTURE_PAGE = frozenset({ActPlace.CAPTURE, ActPlace.ANSWER, ActPlace.MOVED})


@dataclass(frozen=True)
class BenchAct:
    """An act: its words for a button, where it is done, and for the timer the test."""

    words: str
    place: ActPlace
    test: str = ""


#: Stands for the act of the first finding of a round, whatever that is.
FIRST_FINDING = BenchAct("Mend what was found", ActPlace.KIT_BENCH)


@dataclass(frozen=True)
class LeadSetFacts:
    """The lead set a capture was made with: whether it is on file, and still in the kit."""

    known: bool = False
    in_kit: bool = False


def finding_act(finding: Mapping[str, Any], test: str, lead_set: LeadSetFacts) -> BenchAct:
    """Where the action of a stored finding is done: at the lead set, at the timer, at the kit's
    bench page.

    The words are the action itself where it fits on a button, else what is done there in few words.
    """
    verdict, mended_at = finding["verdict"], FINDING_KINDS[finding["code"]].mended_at
    if finding["code"] == "no_movement" and finding["action"] == TICK:
        return BenchAct("Confirm the movement", ActPlace.MOVED)
    if answered_by_swap(finding, lead_set):
        return BenchAct("Test again", ActPlace.TIMER, test)
    if mended_at == "lead set" and verdict == VerdictWord.NOT_FIT and lead_set.known:
        return BenchAct(_button_words(finding, "Swap the lead set"), ActPlace.SWAP)
    if mended_at == "battery":
        return BenchAct(_button_words(finding, "See to the battery"), ActPlace.BATTERY)
    if verdict == VerdictWord.RETEST:
        return BenchAct(_button_words(finding, "Test again"), ActPlace.TIMER, test)
    return BenchAct(_button_words(finding, "See to the kit"), ActPlace.KIT)


def answered_by_swap(finding: Mapping[str, Any], lead_set: LeadSetFacts) -> bool:
    """Whether the lead set that a finding wants replaced is out of the kit already."""
    mended_at = FINDING_KINDS[finding["code"]].mended_at
    to_replace = mended_at == "lead set" and finding["verdict"] == VerdictWord.NOT_FIT
    return to_replace and lead_set.known and not lead_set.in_kit


def _button_words(finding: Mapping[str, Any], short: str) -> str:
    action = str(finding["action"])
    return action if len(action) <= LONGEST_LABEL else short


def capture_act(
    status: CaptureStatus, *, asks_column: bool, worst_finding_act: BenchAct | None
) -> BenchAct:
    """What is next with a capture; `worst_finding_act` is that of the gravest finding which is no
    note, None where nothing is to be mended.
    """
    if status is CaptureStatus.ASKING and asks_column:
        return BenchAct("Say which column it is", ActPlace.COLUMNS)
    if status is CaptureStatus.ASKING:
        return BenchAct("Answer", ActPlace.ANSWER)
    if status is CaptureStatus.UNREADABLE:
        return BenchAct("Record it again", ActPlace.CAPTURE)
    if status is not CaptureStatus.SCORED:
        return BenchAct("Look", ActPlace.CAPTURE)
    return worst_finding_act or BenchAct("See the kit", ActPlace.KIT_BENCH)


@dataclass(frozen=True)
class RoundFacts:
    """How far the round of a kit at the bench is.

    `verdict` is empty while it is open, `next_test` where every test of the plan has a verdict.
    """

    verdict: str = ""
    at_the_bench: bool = True
    cleared: bool = False
    next_test: str = ""

    @property
    def may_clear(self) -> bool:
        """Whether the kit is fit and yet not cleared: what stood against it may be mended."""
        fit = self.verdict == VerdictWord.FIT
        return self.at_the_bench and fit and not self.cleared


def round_act(facts: RoundFacts, *, finding_waits: bool) -> BenchAct | None:
    """What is next with a kit on its bench page, where it cannot be cleared; None for nothing.

    ``FIRST_FINDING``, where `finding_waits`, for the act of the first finding of its round.
    """
    if not facts.at_the_bench or facts.may_clear:
        return None
    if finding_waits and facts.verdict in (VerdictWord.RETEST, VerdictWord.NOT_FIT):
        return FIRST_FINDING
    if facts.next_test:
        return BenchAct(f"Record {facts.next_test}", ActPlace.ROUND, facts.next_test)
    return BenchAct("Next kit", ActPlace.BENCH) if facts.cleared else None


_WAITS_FOR = {
    VerdictWord.NOT_FIT: "Mend",
    VerdictWord.RETEST: "Retest",
    VerdictWord.FIT: "Clear",
}


def waits_for(verdict: str) -> str:
    """What a kit in the list of the bench waits for, by its round's verdict, empty for none."""
    return _WAITS_FOR[VerdictWord(verdict)] if verdict else "Test"


def day_act(state: BenchDayState) -> BenchAct:
    """What is next with the check kit: it is tested first, or looked at."""
    if state is BenchDayState.UNTESTED:
        return BenchAct("Test it first", ActPlace.TIMER, NOISE_TEST)
    return BenchAct("See", ActPlace.KIT_BENCH)
