"""Help by symptom: what a student tries, in which order, and where each answer leads.

Every symptom is a small tree. A step asks whether it helped, or what shows; its three answers lead
to another step or to an end. The words of the steps stand elsewhere, under the steps' keys.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum


class GuideAnswer(StrEnum):
    """What a student answers to a step: it helped or shows, it did not, it could not be done."""

    YES = "yes"
    NO = "no"
    COULD_NOT = "could_not"


class GuideEnd(StrEnum):
    """How a way through a tree ends: solved, in a report, or in a report with the kit out of use
    at once.
    """

    SOLVED = "end.solved"
    REPORT = "end.report"
    STOP = "end.stop"


class Asks(StrEnum):
    """What a step asks: whether it helped, or whether a sign of trouble shows. A "no" to either
    rules out what the step is about.
    """

    HELPED = "helped"
    SHOWS = "shows"


@dataclass(frozen=True)
class GuideStep:
    """One thing to try. `yes`, `no` and `could_not` are keys of steps or ends; `caution` is the key
    of a warning; `sends_trace` where ten seconds of the trace are asked for.
    """

    key: str
    yes: str
    no: str
    could_not: str
    asks: Asks = Asks.HELPED
    caution: str = ""
    sends_trace: bool = False

    def leads_to(self, answer: GuideAnswer) -> str:
        """The step or end that an answer leads to."""
        return {
            GuideAnswer.YES: self.yes,
            GuideAnswer.NO: self.no,
            GuideAnswer.COULD_NOT: self.could_not,
        }[answer]


@dataclass(frozen=True)
class SymptomTree:
    """All steps for one symptom, by key; the way begins with `first`, a step or an end."""

    symptom: str
    first: str
    steps: Mapping[str, GuideStep]


@dataclass(frozen=True)
class Walk:
    """A way through a tree: the answered steps in order, and where it stands, a step or an end."""

    answered: tuple[tuple[GuideStep, GuideAnswer], ...]
    at: GuideStep | GuideEnd

    @property
    def step(self) -> GuideStep | None:
        """The step to do next; None at an end."""
        return self.at if isinstance(self.at, GuideStep) else None


def is_end(key: str) -> bool:
    """Whether a key names an end and no step."""
    return key in list(GuideEnd)


def walk(tree: SymptomTree, answers: Mapping[str, GuideAnswer]) -> Walk:
    """How far answers, by the key of their step, lead through a tree. Answers off the way are left
    alone, so a tree that was changed meanwhile is walked all the same.
    """
    answered: list[tuple[GuideStep, GuideAnswer]] = []
    key = tree.first
    while not is_end(key):
        step = tree.steps[key]
        if key not in answers:
            return Walk(tuple(answered), step)
        answered.append((step, answers[key]))
        key = step.leads_to(answers[key])
    return Walk(tuple(answered), GuideEnd(key))


def tried(key: str, then: str, caution: str = "") -> GuideStep:
    """A step that solves it where it helps, and else leads on."""
    return GuideStep(key, GuideEnd.SOLVED, then, then, caution=caution)


def looked(
    key: str, *, yes: str, no: str, could_not: str | None = None, caution: str = ""
) -> GuideStep:
    """A step that looks for something; without a place of its own, "could not" leads where "no"
    does.
    """
    return GuideStep(key, yes, no, could_not or no, Asks.SHOWS, caution)
