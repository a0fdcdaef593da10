"""Acts lock rows in one order, whatever order a form names them in; and many at one thing give one
outcome and sentences.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from rentals.actions.approve import approve
from rentals.actions.discard import discard_many
from rentals.actions.draft import draft
from rentals.actions.issue import assign, override_gate, unassign
from rentals.actions.pack import pack, scan_part, tick
from rentals.actions.register import mark_damaged, swap_part
from rentals.actions.runs import assign_all, withdraw
from rentals.models import Event, Loan, Message
from rentals.verify import verify
from tests.factories import (
    EnrolmentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
    spare,
)
from tests.rentals.actions.test_races import at_once, refusals

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
        if "FOR UPDATE" in query["sql"]
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
