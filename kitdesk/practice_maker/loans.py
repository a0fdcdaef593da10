"""Acts in the life of one loan, each done by the real action at its day."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.contrib.auth.models import User

from rentals import transaction
from rentals.actions.assign import assign
from rentals.actions.balance import Paid, note_balance_paid
from rentals.actions.deposit import receive_deposit
from rentals.actions.dispatch import dispatch
from rentals.actions.issue import clear, note
from rentals.actions.note_sent import note_sent
from rentals.actions.pack import pack
from rentals.actions.packing_list import draw_up
from rentals.actions.receive import arrive, finish_check, note_line
from rentals.actions.receive_rest import note_rest_back
from rentals.actions.return_steps import tick_step
from rentals.actions.settle import charge, chase, recover, settle, waive
from rentals.models import SERIAL_KINDS, Enrolment, Kit, Loan, ReturnCheck
from rentals.states import MessageState, ReturnOutcome

from .clock import PracticeDays

#: By the kind of part: what became of its line.
Found = Mapping[str, str]
BANDS: Found = {"band": "missing"}


class LoanActs:
    """The owner at the desk; days count from today."""

    def __init__(self, clock: PracticeDays, owner: User) -> None:
        self.clock, self.owner = clock, owner

    def lend(self, kit: Kit, enrolment: Enrolment, day: int, *, due_on: date | None = None) -> Loan:
        """Clear and assign, the deposit asked for and paid."""
        at = self.clock.at(day, 8)
        clear(kit, why="all tests of the plan are fit", actor=self.owner, at=at)
        loan = assign(kit, enrolment, due_on=due_on, actor=self.owner, at=at)
        paid_at = self.clock.at(day, 9)
        return receive_deposit(loan, way="transfer", actor=self.owner, at=paid_at)

    def pack(self, loan: Loan, day: int) -> Loan:
        """Tick every line and pack."""
        kit, at = Kit.objects.get(pk=loan.kit_id), self.clock.at(day, 11)
        with transaction.atomic():
            draw_up(kit).packing_lines.update(ticked_at=at)
        return pack(kit, actor=self.owner, at=at)

    def send(self, loan: Loan, day: int) -> Loan:
        """Pack, and hand the parcel over."""
        packed, at = self.pack(loan, day), self.clock.at(day, 16)
        self.mailed(packed, day)
        number = f"QB{loan.pk:09d}"
        facts: dict[str, Any] = {"carrier": "parcel post", "tracking_number": number}
        return dispatch(packed.kit, **facts, actor=self.owner, at=at)

    def receive(self, loan: Loan, day: int) -> ReturnCheck:
        """The parcel stands on the desk."""
        kit = Kit.objects.get(pk=loan.kit_id)
        return arrive(kit, actor=self.owner, at=self.clock.at(day, 9))

    def look_at(self, check: ReturnCheck, found: Found) -> None:
        """Note what became of lines, by the kind of part."""
        lines = check.lines.filter(packing_line__part_kind__in=found)
        for line in lines.select_related("packing_line"):
            outcome = found[line.packing_line.part_kind]
            lead = "B" if line.packing_line.part_kind == "lead_set" else ""
            damage: dict[str, Any] = (
                {"damaged_lead": lead} if outcome == ReturnOutcome.DAMAGED else {}
            )
            words = "" if outcome == ReturnOutcome.BACK else "seen on the desk"
            note_line(line, outcome, note=words, cleaned=True, charged=True, **damage)

    def check(self, loan: Loan, day: int, found: Found) -> Loan:
        """Receive the parcel, look at every line, finish the check; all is back that is not said
        to be found otherwise.
        """
        check, at = self.receive(loan, day), self.clock.at(day, 10)
        self.look_at(check, {**dict.fromkeys(SERIAL_KINDS, ReturnOutcome.BACK), **found})
        note_rest_back(check, cleaned=True, charged=True, actor=self.owner, at=at)
        for step in check.loan.return_steps.all():
            tick_step(step, done=True, actor=self.owner, at=at)
        return finish_check(check, actor=self.owner, at=at)

    def decide(self, loan: Loan, way: str, day: int) -> None:
        """Decide on all that lacks of a loan in one way."""
        at = self.clock.at(day, 13)
        for short in loan.shortfalls.all():
            if way == "charge":
                charge(short, short.amount, reason="agreed by phone", actor=self.owner, at=at)
            elif way == "waive":
                waive(short, reason="a gift to the course", actor=self.owner, at=at)
            elif way == "recover":
                chase(short, actor=self.owner, at=at)
                recover(short, actor=self.owner, at=self.clock.at(day, 15))
            else:
                chase(short, actor=self.owner, at=at)

    def settle(self, loan: Loan, day: int) -> Loan:
        """Settle, and pay out what is left of the deposit."""
        settled = settle(loan, actor=self.owner, at=self.clock.at(day, 14))
        paid_at = self.clock.at(day + 1, 11)
        note_balance_paid(settled, self.clock.day(day + 1), Paid(), actor=self.owner, at=paid_at)
        self.mailed(settled, day + 1)
        return settled

    def note(self, loan: Loan, text: str, day: int, hour: float = 17) -> None:
        """A line in the kit's history."""
        kit = Kit.objects.get(pk=loan.kit_id)
        note(kit, text, actor=self.owner, at=self.clock.at(day, hour))

    def mailed(self, loan: Loan, day: int) -> None:
        """The mails drafted for a loan went out, from another program."""
        how, at = "Sent from the practice's own mail program.", self.clock.at(day, 12)
        for message in loan.messages.filter(state=MessageState.DRAFT):
            note_sent(message, how=how, actor=self.owner, at=at)
