"""The played part of a practice: for each kit one loan after another, and at last every state that
there is.
"""

from __future__ import annotations

import random

from rentals.actions.assign import assign
from rentals.actions.dispatch import recall
from rentals.actions.issue import hold, release, unassign
from rentals.actions.pack import unpack
from rentals.actions.register import fit_part, remove_part
from rentals.models import Enrolment, Kit, Loan, Part
from rentals.states import PartPlace

from .chapters import Chapters, Kind
from .endings import Endings
from .furniture import RUN_DAYS, Furniture
from .loans import BANDS, LoanActs
from .sittings import sit
from .story import all_sitting_kits, played_runs

#: How past loans went, as often as they stand here.
WAYS = (
    "whole",
    "whole",
    "whole",
    "whole",
    "whole",
    "charged",
    "waived",
    "recovered",
    "taken_back",
    "recalled",
    "held",
    "other_lead_set",
)


class Lives:
    """Past loans of all kits, the earliest run first."""

    def __init__(self, furniture: Furniture, chance: random.Random) -> None:
        self.furniture, self.chance = furniture, chance
        self.clock, self.owner = furniture.clock, furniture.owner
        self.acts = LoanActs(self.clock, self.owner)

    def sitting(self, place: int, day: int) -> None:
        """A kit is tested."""
        kit = Kit.objects.get(pk=self.furniture.kits[place].pk)
        sit(self.furniture, kit, day, self.chance.randrange(10**6))

    def run(self, number: int, day: int) -> None:
        """One run whose parcels go out from `day` on and are back a few weeks later. It leaves the
        kits as it found them, so that another one can come before or after it.
        """
        enrolments = self.furniture.enrolled(number, self.clock.day(day + 7))
        for place, (kit, enrolment) in enumerate(zip(self.furniture.kits, enrolments, strict=True)):
            way = self.chance.choice(WAYS)
            fresh = Kit.objects.get(pk=kit.pk)
            loan = self.acts.lend(fresh, enrolment, day + place % 3)
            self._live(loan, way, day + place % 3)

    def _live(self, loan: Loan, way: str, day: int) -> None:
        if way == "taken_back":
            loan = self._lent_again(loan, day)
        loan = self.acts.send(loan, day + 1)
        if way == "recalled":
            loan = self._sent_again(loan, day + 2)
        back = day + 60 + self.chance.randrange(12)
        ends = {"charged": "charge", "waived": "waive", "recovered": "recover"}
        found = BANDS if way in ends else {}
        self.acts.note(loan, "The student rang: all is well.", day + 20)
        loan = self.acts.check(loan, back, found)
        self.acts.decide(loan, ends.get(way, "chase"), back + 1)
        self.acts.settle(loan, back + 2)
        if way == "held":
            self._held(loan, back + 4)
        if way == "other_lead_set":
            self._other_lead_set(loan, back + 4)

    def _lent_again(self, loan: Loan, day: int) -> Loan:
        kit, at = Kit.objects.get(pk=loan.kit_id), self.clock.at(day, 10)
        unassign(kit, reason="The student asked for another week.", actor=self.owner, at=at)
        enrolment = Enrolment.objects.get(pk=loan.enrolment_id)
        # What was paid for it stays with the student.
        fresh, later = Kit.objects.get(pk=kit.pk), self.clock.at(day, 15)
        return assign(fresh, enrolment, actor=self.owner, at=later)

    def _sent_again(self, loan: Loan, day: int) -> Loan:
        kit, at = Kit.objects.get(pk=loan.kit_id), self.clock.at(day)
        recall(kit, reason="The label came off.", actor=self.owner, at=at)
        kit.refresh_from_db()
        unpack(kit, reason="The box was wet.", actor=self.owner, at=at)
        return self.acts.send(Loan.objects.get(pk=loan.pk), day + 1)

    def _held(self, loan: Loan, day: int) -> None:
        kit = Kit.objects.get(pk=loan.kit_id)
        hold(kit, reason="It smells of smoke", actor=self.owner, at=self.clock.at(day))
        kit.refresh_from_db()
        release(kit, actor=self.owner, at=self.clock.at(day + 3))

    def _other_lead_set(self, loan: Loan, day: int) -> None:
        """A spare lead set stands in for a day or two."""
        own = Part.objects.get(kit=loan.kit_id, kind="lead_set")
        spares = self.furniture.spares["lead_set"]
        spare = spares[1 + loan.kit_id % (len(spares) - 1)]
        self._swap(loan, own, spare, "a lead is stiff", day)
        self._swap(loan, spare, own, "its own is mended", day + 2)

    def _swap(self, loan: Loan, old: Part, new: Part, reason: str, day: int) -> None:
        kit, at = Kit.objects.get(pk=loan.kit_id), self.clock.at(day)
        remove_part(kit, old, to=PartPlace.SPARE, reason=reason, actor=self.owner, at=at)
        fresh = Part.objects.get(pk=new.pk)
        fit_part(Kit.objects.get(pk=kit.pk), fresh, actor=self.owner, at=at)


def play(furniture: Furniture, kits: int, loans: int, chance: random.Random) -> Chapters:
    """Play what copies are told from: the last past runs, and the run of today."""
    chapters = Chapters()
    lives, runs = Lives(furniture, chance), played_runs(loans)
    with chapters.chapter(Kind.KITS):
        furniture.bring_kits(kits)
    with chapters.chapter(Kind.PEOPLE):
        furniture.bring_people(kits)
    for place in all_sitting_kits(kits, loans):
        with chapters.chapter(Kind.SITTING, place):
            lives.sitting(place, _first_day(runs[0], loans) - 1)
    for number in runs:
        with chapters.chapter(Kind.RUN, number):
            lives.run(number, _first_day(number, loans))
    with chapters.chapter(Kind.ENDING):
        Endings(lives.furniture, lives.acts, chance, loans - 1).play()
    return chapters


def _first_day(run: int, loans: int) -> int:
    return -RUN_DAYS * (loans - run) + 40
