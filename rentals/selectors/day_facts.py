"""What several lists of the day rest on, asked for once and kept while nothing changes it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

from rentals.models import Practice
from rentals.selectors.kept_answers import KeptAnswers
from rentals.selectors.shopping_list import parcels_planned
from rentals.selectors.stock_ahead import ParcelsAhead, RunShort, stock_short_soon
from rentals.selectors.today_counts import LoanCounts, loan_counts, mail_counts

Answer = TypeVar("Answer")


@dataclass(frozen=True)
class DayFacts:
    """The facts of one day, to how the desk stands now."""

    today: date
    _answers: KeptAnswers

    def of(self, find: Callable[[DayFacts], Answer]) -> Answer:
        """What a function finds for this day; it is told by its name, so no two may share one."""
        question = find.__module__, find.__qualname__, self.today
        return self._answers.of(question, lambda: find(self))

    @property
    def practice(self) -> Practice:
        """The practice; not to be changed."""
        return self.of(_practice)

    @property
    def loans(self) -> LoanCounts:
        """How many loans wait for which step."""
        return self.of(_loans)

    @property
    def mails(self) -> Counter[str]:
        """How many mails wait for somebody, by their state."""
        return self.of(_mails)

    @property
    def parcels(self) -> ParcelsAhead:
        """The parcels to pack of the coming runs."""
        return self.of(_parcels)

    @property
    def stock_short(self) -> list[RunShort]:
        """What will not suffice for these parcels."""
        return self.of(_stock_short)


def _practice(day: DayFacts) -> Practice:
    return Practice.current()


def _loans(day: DayFacts) -> LoanCounts:
    return loan_counts(day.today)


def _mails(day: DayFacts) -> Counter[str]:
    return mail_counts()


def _parcels(day: DayFacts) -> ParcelsAhead:
    return parcels_planned(day.today)


def _stock_short(day: DayFacts) -> list[RunShort]:
    return stock_short_soon(day.today, day.parcels)
