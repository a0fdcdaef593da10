"""The last run of the played part: its loans stand today in every state that there is."""

from __future__ import annotations

import random
from collections.abc import Callable
from datetime import timedelta
from typing import Any

from kitdesk.demo.guide import hum_solved, jumps_reported
from rentals.actions.arrival_check import send_arrival_check
from rentals.actions.faults import answer_fault, close_fault
from rentals.actions.found import keep_aside, move_found
from rentals.actions.guide import begin_help
from rentals.actions.issue import clear, hold, retire, unassign
from rentals.actions.part_return import await_rest
from rentals.actions.receive import write_off
from rentals.actions.replace_kit import replace_kit
from rentals.actions.replace_part import ask_replacement, send_replacement
from rentals.actions.return_scan import note_found, scan_return
from rentals.models import FaultReport, Kit, Loan, Part
from rentals.planning.arrival import Arrived

from .furniture import Furniture
from .loans import BANDS, Found, LoanActs
from .mails import mails_on_their_way
from .sittings import sit

#: The day on which the last run's parcels are assigned.
LENT = -30
#: How many kits it takes to show every state.
ENDINGS = 15
BACK = -6
AT_REPAIR = {"amplifier": "damaged", "licence_key": "missing"}


class Endings:
    """How the kits of the last run ended up, by their place in it."""

    def __init__(
        self, furniture: Furniture, acts: LoanActs, chance: random.Random, number: int
    ) -> None:
        self.furniture, self.acts, self.chance = furniture, acts, chance
        self.clock, self.owner = furniture.clock, furniture.owner
        self.kits = furniture.kits
        self.enrolments = furniture.enrolled(number, self.clock.day(LENT + 17))

    def play(self) -> None:
        """One ending for each kit, over and over."""
        for place in range(len(self.kits)):
            self._ways()[place % ENDINGS](place)
        mails_on_their_way(self.clock, self.owner)

    def _ways(self) -> tuple[Callable[[int], object], ...]:
        # What another ending finds in a parcel, or sends in place of a kit, comes before it.
        return (
            self._on_the_shelf,
            self._assigned,
            self._packed,
            self._away,
            self._overdue,
            self._faults,
            self._lost,
            self._held,
            self._retired,
            self._to_bench,
            self._partly_back,
            self._to_check,
            self._faulty_kit,
            self._owing,
            self._ready_again,
        )

    def _lent(self, place: int, day: int = LENT) -> Loan:
        kit = Kit.objects.get(pk=self.kits[place].pk)
        return self.acts.lend(kit, self.enrolments[place], day)

    def _sent(self, place: int) -> Loan:
        return self.acts.send(self._lent(place), LENT + 1)

    def _back(self, place: int, found: Found) -> Loan:
        return self.acts.check(self._sent(place), BACK, found)

    def _kit(self, place: int) -> Kit:
        return Kit.objects.get(pk=self.kits[place].pk)

    def _on_the_shelf(self, place: int) -> None:
        self._lent(place)
        at, reason = self.clock.at(LENT, 12), "The student comes a run later."
        unassign(self._kit(place), reason=reason, actor=self.owner, at=at)

    def _assigned(self, place: int) -> None:
        self._lent(place, -2)

    def _packed(self, place: int) -> None:
        self.acts.pack(self._lent(place, -2), -1)

    def _away(self, place: int) -> None:
        """Arrived with pieces missing and damaged; a part was sent later, another is promised."""
        loan = self._sent(place)
        lines = {line.part_kind: line for line in loan.packing_lines.all()}
        arrived = {line.pk: Arrived() for line in lines.values()}
        arrived[lines["band"].pk] = Arrived(missing=1, note="There was one only.")
        arrived[lines["pouch"].pk] = Arrived(damaged=1, note="It is torn.")
        send_arrival_check(loan, arrived, at=self.clock.at(LENT + 6))
        for kind, why in (("charger", "it stays cold"), ("lead_set", "B has no contact")):
            spare = self.furniture.spares[kind].pop(0)
            at = self.clock.at(LENT + 10, 11)
            facts: dict[str, Any] = {"why": why, "part": spare, "actor": self.owner, "at": at}
            replacement = ask_replacement(lines[kind], **facts)
            if kind == "charger":
                send_replacement(replacement, carrier="parcel post", actor=self.owner, at=at)

    def _overdue(self, place: int) -> None:
        due = self.clock.day(-9)
        kit = self._kit(place)
        loan = self.acts.lend(kit, self.enrolments[place], LENT, due_on=due)
        self.acts.send(loan, LENT + 1)

    def _faults(self, place: int) -> None:
        """One fault mended by the student; reports to answer, answered and closed."""
        loan = self._sent(place)
        hum_solved(loan, self.clock.at(LENT + 8))
        at = self.clock.at(LENT + 9)
        for step, act in enumerate((None, answer_fault, close_fault)):
            report: FaultReport = jumps_reported(loan, at + timedelta(days=step))
            if act is not None:
                later = at + timedelta(days=step, hours=3)
                act(report, "Try the other cable.", actor=self.owner, at=later)
        begin_help(loan, "hum", at=self.clock.at(LENT + 14))

    def _lost(self, place: int) -> None:
        loan = self._sent(place)
        kit, reason = Kit.objects.get(pk=loan.kit_id), "The carrier lost the parcel"
        lost = write_off(kit, reason=reason, actor=self.owner, at=self.clock.at(-8))
        self.acts.decide(lost, "waive", -7)

    def _held(self, place: int) -> None:
        """What lacks of it is open yet: its mail is a draft."""
        self._back(place, AT_REPAIR)
        at, kit = self.clock.at(BACK + 1), self._kit(place)
        hold(kit, reason="The amplifier is in repair", actor=self.owner, at=at)

    def _retired(self, place: int) -> None:
        loan = self._back(place, {"licence_key": "missing"})
        self.acts.decide(loan, "charge", BACK + 1)
        self.acts.settle(Loan.objects.get(pk=loan.pk), BACK + 2)
        at = self.clock.at(BACK + 4)
        retire(self._kit(place), reason="Worn out", actor=self.owner, at=at)

    def _to_bench(self, place: int) -> None:
        loan = self._back(place, {})
        self.acts.settle(loan, BACK + 2)

    def _partly_back(self, place: int) -> None:
        check = self.acts.receive(self._sent(place), BACK)
        self.acts.look_at(check, {"amplifier": "back", "band": "back"})
        await_rest(check, actor=self.owner, at=self.clock.at(BACK, 11))

    def _to_check(self, place: int) -> None:
        """A check under way: what it found belongs to other kits, or to nobody."""
        check = self.acts.receive(self._sent(place), BACK)
        self.acts.look_at(check, {"amplifier": "back"})
        at = self.clock.at(BACK, 12)
        for home, act in ((0, move_found), (3, keep_aside), (4, None)):
            part = Part.objects.get(kit=self.kits[place - 11 + home], kind="battery_pack")
            scan_return(check, part.code, actor=self.owner, at=at)
            thing = check.found.get(part=part)
            if act is move_found:
                move_found(thing, actor=self.owner, at=at)
            elif act is keep_aside:
                keep_aside(thing, "the red tray", actor=self.owner, at=at)
        mug = note_found(check, "A mug with a bow on it", at=at)
        keep_aside(mug, "the kitchen", actor=self.owner, at=at)

    def _faulty_kit(self, place: int) -> None:
        """Another kit stands in for one that is faulty: the one of the first ending."""
        loan = self._sent(place)
        other, at = self._kit(place - 12), self.clock.at(-4)
        due = self.clock.day(10)
        facts: dict[str, Any] = {"fault": "Both leads are dead", "due_on": due, "actor": self.owner}
        replace_kit(loan, other, **facts, at=at)

    def _owing(self, place: int) -> None:
        loan = self._back(place, BANDS)
        self.acts.decide(loan, "chase", BACK + 1)
        self.acts.mailed(loan, BACK + 1)

    def _ready_again(self, place: int) -> None:
        loan = self._back(place, BANDS)
        self.acts.decide(loan, "recover", BACK + 1)
        self.acts.settle(Loan.objects.get(pk=loan.pk), BACK + 2)
        sit(self.furniture, self._kit(place), BACK + 3, self.chance.randrange(10**6))
        why, at = "all tests of the plan are fit", self.clock.at(BACK + 4)
        clear(self._kit(place), why=why, actor=self.owner, at=at)
