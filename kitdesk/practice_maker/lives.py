"""The played part of a practice: for each kit one loan after another, and at last every state that
there is.
"""

from __future__ import annotations

import random

from rentals.actions.dispatch import recall
from rentals.actions.issue import assign, hold, release, unassign
from rentals.actions.pack import unpack
from rentals.actions.register import fit_part, remove_part
from rentals.models import Enrolment, Kit, Loan, Part
from rentals.states import PartPlace

from .furniture import RUN_DAYS, Furniture
from .loans import LoanActs
from .sittings import LOANS_OF_A_SITTING, sit

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
BANDS = {"band": "missing"}


class Lives:
    """Past loans of all kits, the earliest run first."""

    def __init__(self, furniture: Furniture, chance: random.Random) -> None:
        self.furniture, self.chance = furniture, chance
        self.clock, self.owner = furniture.clock, furniture.owner
        self.acts = LoanActs(self.clock, self.owner)

    def run(self, number: int, day: int) -> None:
        """One run whose parcels go out from `day` on and are back a few weeks later."""
        enrolments = self.furniture.enrolled(number, self.clock.day(day + 7))
        for place, (kit, enrolment) in enumerate(zip(self.furniture.kits, enrolments, strict=True)):
            way = self.chance.choice(WAYS)
            fresh = Kit.objects.get(pk=kit.pk)
            if (number + place) % LOANS_OF_A_SITTING == 0:
                sit(self.furniture, fresh, day - 1, self.chance.randrange(10**6))
                fresh.refresh_from_db()
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
        kit, at = Kit.objects.get(pk=loan.kit_id), self.clock.at(day)
        old = Part.objects.get(kit=kit, kind="lead_set")
        new = self.furniture.spares["lead_set"].pop(0)
        remove_part(kit, old, to=PartPlace.SPARE, reason="a lead is stiff", actor=self.owner, at=at)
        fit_part(Kit.objects.get(pk=kit.pk), new, actor=self.owner, at=at)
        self.furniture.spares["lead_set"].append(old)


def play(furniture: Furniture, loans: int, chance: random.Random) -> Lives:
    """Play all runs but the last one."""
    lives = Lives(furniture, chance)
    for number in range(loans - 1):
        lives.run(number, -RUN_DAYS * (loans - number) + 40)
    return lives
