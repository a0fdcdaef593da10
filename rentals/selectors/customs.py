"""Whether a parcel needs a customs paper: the owner's answer for the place, else the table."""

from __future__ import annotations

from dataclasses import dataclass

from rentals.dates import short_date
from rentals.models import CustomsAnswer
from rentals.paper.customs import Crossing, PaperVerdict, crossing, way_between
from rentals.paper.customs_places import CustomsPlace
from rentals.paper.facts import Address

_BY_THE_TABLE = {
    PaperVerdict.NONE: "the same customs and tax area: no customs paper",
    PaperVerdict.NEEDED: "a customs paper is needed",
    PaperVerdict.UNCLEAR: "ask your carrier whether a customs paper is needed",
}


@dataclass(frozen=True)
class CustomsFinding:
    """The way of a parcel with what the table and the owner say of it."""

    way: Crossing
    answer: CustomsAnswer | None = None

    @property
    def paper_needed(self) -> bool:
        """Whether the contents statement is offered: by the owner's answer, else by the table,
        where it is not clear as well.
        """
        return self.answer.needed if self.answer else self.way.verdict != PaperVerdict.NONE

    @property
    def worth_saying(self) -> bool:
        """Whether there is anything to say of customs on the loan's page."""
        return self.answer is not None or self.way.verdict != PaperVerdict.NONE

    @property
    def table_says(self) -> str:
        """What the table says, in words."""
        words = f" ({self.way.place.words})" if self.way.place.words else ""
        return f"{self.way.place.name}{words}: {_BY_THE_TABLE[self.way.verdict]}"

    @property
    def sentence(self) -> str:
        """What holds for the parcel, and by whose word."""
        if self.answer is None:
            return f"{self.table_says}."
        needed = "a customs paper is needed" if self.answer.needed else "no customs paper"
        note = f" {self.answer.note}" if self.answer.note else ""
        day = short_date(self.answer.at.date())
        return f"{self.way.place.name}: {needed}, by your own answer of {day}.{note}"


def customs_finding(sender: Address | None, receiver: Address | None) -> CustomsFinding | None:
    """What is known of customs between two addresses; None where one of them, or its country, is
    not known.

    Raises ValueError for a country code that is none.
    """
    way = crossing(sender, receiver) if sender and receiver else None
    return _answered(way) if way else None


def customs_between(home: CustomsPlace, away: CustomsPlace) -> CustomsFinding:
    """What is known of customs between two places."""
    return _answered(way_between(home, away))


def _answered(way: Crossing) -> CustomsFinding:
    if way.home.key == way.place.key:
        return CustomsFinding(way)
    answers = CustomsAnswer.objects.filter(home=way.home.key, destination=way.place.key)
    return CustomsFinding(way, answers.first())
