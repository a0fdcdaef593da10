"""All that the days of the plan are worked out with: transit days by destination, margins,
turnaround, working days.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cache
from types import MappingProxyType

from babel import Locale

from . import calendar
from .calendar import Margins, PlannedDay, Transit, Turnaround
from .workdays import Workdays

HOME, ABROAD = "home", "abroad"
"""Destinations without a row of their own: the practice's country, and all others."""

USUAL_TRANSIT: Mapping[str, tuple[int, int]] = MappingProxyType({HOME: (2, 2), ABROAD: (6, 6)})
"""Working days out and back before anything is set: a letter carrier's ordinary parcel."""


@cache
def country_name(code: str) -> str:
    """A country's name in English; its code where none is known."""
    return str(Locale("en").territories.get(code, code))


@dataclass(frozen=True)
class DayRules:
    """What the practice has set. Countries are ISO 3166-1 alpha-2, empty where none is known; a
    destination without a country counts as home.
    """

    home: str = ""
    transits: Mapping[str, tuple[int, int]] = field(default_factory=dict)
    margins: Margins = field(default_factory=Margins)
    turnaround: Turnaround = field(default_factory=Turnaround)

    def transit(self, country: str = "") -> Transit:
        """How long the post takes to a country: by its own row, else by that of home or abroad."""
        country = country or self.home
        usual = HOME if country == self.home else ABROAD
        for key in (country, usual):
            if key in self.transits:
                return Transit(*self.transits[key], country_name(country))
        return Transit(*USUAL_TRANSIT[usual], country_name(country))

    def post_by(self, starts_on: date, country: str = "") -> PlannedDay:
        """The last day to post a parcel to a country, for a run that starts on a day."""
        workdays = self._on_the_way(country)
        return calendar.post_by(starts_on, self.transit(country), self.margins, workdays)

    def back_by(self, ends_on: date, country: str = "") -> PlannedDay:
        """The day a kit is due back from a country, after a run that ends on a day."""
        workdays = self._on_the_way(country)
        return calendar.back_by(ends_on, self.transit(country), self.margins, workdays)

    def free_again(self, back_on: date) -> PlannedDay:
        """The first day a kit may be posted again that is back on a day."""
        return calendar.free_again(back_on, self.turnaround, Workdays(self.home))

    def next_working_day(self, day: date) -> date:
        """The first working day after a day."""
        return Workdays(self.home).count_from(day, 1)

    def _on_the_way(self, country: str) -> Workdays:
        return Workdays(self.home, also=country if country != self.home else "")
