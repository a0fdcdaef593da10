"""The words of help by symptom in the language being spoken, with what the owner changed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import gettext as _

from rentals.catalogues import spoken_locale
from rentals.models import OwnStep
from rentals.planning.guide_steps import Asks, GuideAnswer, GuideStep

from .student_texts import student_words


@dataclass(frozen=True)
class StepWords:
    """One step as a student reads it; `question` is what is asked, `answers` pairs each answer with
    its words.
    """

    key: str
    title: str
    to_try: str
    rules_out: str
    caution: str
    question: str
    answers: tuple[tuple[str, str], ...]


class GuideWords:
    """All words of the guide, read once for a page: `texts` are by key, `own` the owner's steps."""

    def __init__(self, texts: dict[str, str], own: Iterable[OwnStep] = ()) -> None:
        self._texts = texts
        self._own = {step.key: step for step in own}

    def symptom(self, symptom: str) -> str:
        """What a student says who has it."""
        return self._text(f"guide.symptom.{symptom}.title")

    def hint(self, symptom: str) -> str:
        """How it is known from the others."""
        return self._text(f"guide.symptom.{symptom}.hint")

    def title(self, step: str) -> str:
        """A step in a few words, also one that is no more."""
        if step in self._own:
            return self._own[step].title
        return self._text(f"guide.step.{step}.title")

    def rules_out(self, step: str) -> str:
        """What is ruled out where a step did not help."""
        if step in self._own:
            return self._own[step].rules_out
        return self._text(f"guide.step.{step}.rules_out")

    def step(self, step: GuideStep) -> StepWords:
        """All that a student reads of a step."""
        own = self._own.get(step.key)
        return StepWords(
            step.key,
            self.title(step.key),
            own.to_try if own else self._text(f"guide.step.{step.key}.try"),
            self.rules_out(step.key),
            self._text(f"guide.caution.{step.caution}") if step.caution else "",
            self.sign(step) or _("Did it help?"),
            answer_words(step.asks),
        )

    def sign(self, step: GuideStep) -> str:
        """The question of a step that asks for a sign; empty where it asks whether it helped."""
        if step.asks is Asks.HELPED:
            return ""
        return self._text(f"guide.step.{step.key}.question")

    def _text(self, key: str) -> str:
        return self._texts.get(key, "")


def answer_words(asks: Asks) -> tuple[tuple[str, str], ...]:
    """Each answer with its words."""
    if asks is Asks.SHOWS:
        yes, no = _("Yes"), _("No")
    else:
        yes, no = _("Yes, it works now"), _("No, it is as before")
    return (
        (GuideAnswer.YES, yes),
        (GuideAnswer.NO, no),
        (GuideAnswer.COULD_NOT, _("I could not do this")),
    )


def guide_words() -> GuideWords:
    """The words in the language that is being spoken; two queries."""
    texts = student_words("guide.", spoken_locale())
    return GuideWords(texts, OwnStep.objects.all())
