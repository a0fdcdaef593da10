"""Acts lock rows in one order, whatever order a form names them in; and many at one thing give one
outcome and sentences.
"""

from __future__ import annotations

import re
import threading
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from rentals import transaction
from rentals.actions.approve import approve, approve_many
from rentals.actions.assign import assign
from rentals.actions.bulk import for_each
from rentals.actions.claim_mail import put_off_all
from rentals.actions.discard import discard_many
from rentals.actions.dispatch import dispatch, extend
from rentals.actions.draft import draft
from rentals.actions.issue import hold, override_gate, unassign
from rentals.actions.mail_run import mail_run
from rentals.actions.pack import pack, scan_part, tick
from rentals.actions.register import mark_damaged, place_part, swap_part
from rentals.actions.runs import assign_all, withdraw
from rentals.models import Event, Kit, Loan, Message, MessageStep, Part, Practice
from rentals.verify import verify
from tests.factories import (
    EnrolmentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
    spare,
)
from tests.rentals.actions.test_races import at_once, refusals, wait_until_somebody_waits

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.postgres]

#: Tables in the order of their locks; loans and parts are both below their kit.
ORDER = ("kit", "enrolment", "part", "loan", "stockitem", "message")


def _locks(act: Callable[[], object]) -> list[str]:
    """The tables whose rows an act locks, in the order in which it asks for them first."""
    with CaptureQueriesContext(connection) as asked:
        act()
    tables = [
        found[1]
        for query in asked
        if re.search("FOR (NO KEY )?UPDATE", query["sql"])
        and (found := re.search(r'FROM "(?:rentals|readiness)_(\w+)"', query["sql"]))
    ]
    return [table for table in dict.fromkeys(tables) if table in ORDER]


def test_each_act_asks_for_kits_before_what_hangs_on_them():
    loan = assigned_loan()
    kit, student = loan.kit, loan.enrolment
    leads = kit.parts.get(kind="lead_set")
    acts = (
        lambda: mark_damaged(leads, "cracked"),
        lambda: swap_part(kit, leads, spare("lead_set")),
        lambda: scan_part(kit, kit.parts.first().code),
        lambda: withdraw(student),
    )
    for act in acts:
        tables = _locks(act)
        assert tables[0] == "kit"
        assert tables == sorted(tables, key=ORDER.index)


def test_two_forms_that_name_kits_in_opposite_order_are_both_answered():
    kit = complete_kit()
    kits = [kit, *(complete_kit(kit.kit_type) for _ in range(4))]
    run = EnrolmentFactory(run__kit_type=kit.kit_type).run
    students = [EnrolmentFactory(run=run) for _ in kits]
    pairs = list(zip(students, kits, strict=True))
    forms = [pairs, pairs[::-1]] * 3
    assert refusals(at_once(*(lambda form=form: assign_all(form) for form in forms))) == 5
    assert Loan.objects.count() == len(kits)
    assert verify() == []


def test_one_draft_let_go_by_many_goes_once():
    message = draft("packing_list", packed_loan())
    acts = [lambda: approve(message)] * 5 + [lambda: discard_many([message.pk])] * 2
    at_once(*acts)
    message.refresh_from_db()
    said = message.steps.filter(text="Approved.").count()
    assert said == (message.state != "discarded")
    assert Message.objects.count() == 1


def test_a_kit_that_leaves_the_packing_bench_meanwhile():
    loan = assigned_loan()
    kit, lines = loan.kit, list(loan.packing_lines.all())
    for line in lines:
        tick(line)
    results = at_once(
        lambda: pack(kit), lambda: tick(lines[0], on=False), lambda: unassign(kit, reason="ill")
    )
    assert refusals(results) >= 1
    assert verify() == []
    replaced = lines[0]
    replaced.delete()
    replaced.pk = lines[1].pk + 1000
    with pytest.raises(Exception, match="not on this packing list"):
        tick(replaced)


def test_eight_overrides_are_one_event(owner):
    kit = complete_kit(cleared=False)
    assign(kit, EnrolmentFactory(run__kit_type=kit.kit_type))
    reasons = ["The mains hum is the room's."] * 4 + ["The owner has seen the kit."] * 4
    acts = (lambda why=why: override_gate(kit, reason=why, actor=owner) for why in reasons)
    assert refusals(at_once(*acts)) == 4
    assert Event.objects.filter(verb="overridden").count() == 1
    assert verify() == []


def test_many_drafts_let_go_by_several_people_while_loans_change():
    kit = complete_kit()
    run = EnrolmentFactory(run__kit_type=kit.kit_type).run
    kits = [kit, *(complete_kit(kit.kit_type) for _ in range(5))]
    loans = [packed_loan(kit, EnrolmentFactory(run=run)) for kit in kits]
    drafts = [draft("packing_list", loan) for loan in loans]
    keys, later = [message.pk for message in drafts], loans[0].due_on + timedelta(days=3)

    def one_by_one(act: Callable[[Any], object], things: list[Any]) -> Callable[[], object]:
        return lambda: [act(thing) for thing in things]

    at_once(
        lambda: approve_many(keys),
        lambda: approve_many(keys[::-1]),
        one_by_one(approve, drafts[::-1]),
        one_by_one(lambda loan: extend(loan, later), loans[::-1]),
        lambda: mail_run(run, "packing_list", [loan.pk for loan in loans[::-1]]),
        lambda: put_off_all("No server.", timezone.now()),
        transaction.atomic(lambda: for_each(loans[3:][::-1], lambda loan: dispatch(loan.kit))),
    )
    told = MessageStep.objects.filter(text="Approved.").values_list("message", flat=True)
    gone = Message.objects.exclude(state__in=["draft", "discarded"])
    assert sorted(told) == sorted(gone.values_list("pk", flat=True))
    assert verify() == []


def test_ticked_rows_of_two_lists_in_opposite_order():
    kit = complete_kit()
    kits = [kit, *(complete_kit(kit.kit_type) for _ in range(3))]
    parts = [spare("lead_set") for _ in range(4)]

    def ticked(things: list[Any], act: Callable[[Any], object]) -> Callable[[], object]:
        return transaction.atomic(lambda: for_each(things, act))

    def note(kit: Kit) -> object:
        return hold(kit, reason="wet")

    def away(part: Part) -> object:
        return place_part(part, "repair", reason="cracked")

    at_once(
        *(ticked(kits[::step], note) for step in (1, -1)),
        *(ticked(parts[::step], away) for step in (1, -1)),
        *(transaction.atomic(lambda step=step: discard_many(range(9)[::step])) for step in (1, -1)),
    )
    assert verify() == []


def test_a_mail_filled_anew_and_let_go_while_its_loan_changes():
    """Saved twice, it looks its loan up when it commits; an act on the loan waits for the mail."""
    loan = packed_loan()
    message, begun = draft("packing_list", loan), threading.Event()
    Practice.objects.update_or_create(pk=1, defaults={"name": "The other name"})

    def let_go_slowly() -> None:
        with transaction.atomic():
            approve_many([message.pk])
            begun.set()
            wait_until_somebody_waits()

    def change_the_loan() -> None:
        begun.wait()
        extend(loan, loan.due_on + timedelta(days=3))

    at_once(let_go_slowly, change_the_loan)
    message.refresh_from_db()
    assert message.steps.filter(text="Approved.").count() == 1
    assert message.steps.filter(text__startswith="Brought up to date").exists()


def test_parcels_dispatched_together_lock_their_mails_in_order():
    first, second = packed_loan(), packed_loan()
    low, high = (draft("on_its_way", loan) for loan in (first, second))
    begun = threading.Event()

    def let_go_slowly() -> None:
        with transaction.atomic():
            approve(low)
            begun.set()
            wait_until_somebody_waits()
            approve(high)

    def send_both() -> None:
        begun.wait()
        with transaction.atomic():
            for_each([second, first], lambda loan: dispatch(loan.kit))

    at_once(let_go_slowly, send_both)
    assert verify() == []
