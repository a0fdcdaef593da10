"""Facts of events that were changed by hand: named with their event, and never the end of the
check.
"""

from __future__ import annotations

import json
from datetime import date
from itertools import product
from typing import Any

import pytest
from django.db import connection, transaction

from kitdesk.roles.role import DeskRole
from rentals.actions.access_tokens import make_access_token
from rentals.actions.earmark import set_aside
from rentals.actions.erase import erase
from rentals.actions.record import record_kit
from rentals.actions.runs import withdraw
from rentals.event_facts import facts_said, row_said
from rentals.lifecycle import Verb
from rentals.models import Event, Kit
from rentals.verifying.findings import Findings
from rentals.verifying.jobs import all_jobs, run_job
from tests.factories import CourseRunFactory, EnrolmentFactory, complete_kit, packed_loan
from tests.kitdesk.roles.people import account_of

pytestmark = pytest.mark.django_db
#: What events of kits say beside those that the acts of this test write.
OF_KITS: list[dict[str, Any]] = [
    {"return_step": 1, "done": True},
    {"arrival": [[1, 0, 0], [2, 1, 0]]},
    {"fault_report": 1, "fault_state": "open"},
    {"replacement": 1, "act": "asked", "slip": "x"},
    {"replaced_by": None},
    {"ledger": [{"entry": 1, "amount": "1.00"}]},
]
ODD: list[Any] = [
    *(None, True, -1, 2**63, 7.5, "x"),
    *([], [["x", {}]], [{"entry": []}]),
    *({}, {"entry": {}}),
]
#: The parts of the check that read what events say.
READERS = {"files", "people", "chains", "kits"}
NOT_EVEN_JSON = ["", "{", "[1,", "\x00", '{"ledger": ' + "[" * 100_000, "1" * 5_000]


@pytest.fixture
def events() -> list[Event]:
    """One event of each kind that says anything."""
    loan = packed_loan()
    gone = EnrolmentFactory()
    for data in OF_KITS:
        record_kit(Kit.objects.get(pk=loan.kit.pk), Verb.NOTED, "Noted.", loan=loan, data=data)
    waits, kit = EnrolmentFactory(run=CourseRunFactory()), complete_kit()
    waits.run.kit_type = kit.kit_type
    waits.run.save()
    set_aside({waits.pk: kit.code})
    account_of(DeskRole.READER)
    make_access_token("bench", ["verdicts:read"], expires_on=date(2099, 1, 1))
    withdraw(gone)
    erase(gone.student)
    found = list(Event.objects.exclude(data={}).order_by("pk"))
    said = {key for event in found for key in event.data}
    assert {*OF_KITS[0], "arrival", "ledger", "roles", "token", "pinned", "words", "files"} <= said
    return found


def _changed(events: list[Event], data: list[str]) -> None:
    """Each event says that; `verify` names all of them, and goes on to its end."""
    with transaction.atomic():
        with connection.cursor() as cursor:
            for event, text in zip(events, data, strict=True):
                cursor.execute("UPDATE rentals_event SET data = %s WHERE id = %s", [text, event.pk])
        found = Findings()
        for job in all_jobs():
            if job.kind in READERS:
                found.join(run_job(job, {}))
        faults = found.told()
        for event in events:
            words = f"{event.chain}: event {event.number} was changed after it was written."
            assert words in faults, data
        assert not [fault for fault in faults if "cut the look" in fault], data
        transaction.set_rollback(True)


def test_a_fact_of_another_form_is_named_with_its_event(events):
    most = max(len(event.data) for event in events)
    for nth, odd in product(range(most), ODD):
        changed = [event for event in events if len(event.data) > nth]
        texts = []
        for event in changed:
            key = sorted(event.data)[nth]
            other = odd if odd != event.data[key] else "y"
            texts.append(json.dumps(event.data | {key: other}))
        _changed(changed, texts)


def test_facts_that_lack_and_others_in_place_of_them_all_are_named_too(events):
    for nth in range(max(len(event.data) for event in events)):
        changed = [event for event in events if len(event.data) > nth]
        lacking = [sorted(event.data.items()) for event in changed]
        for facts in lacking:
            del facts[nth]
        _changed(changed, [json.dumps(dict(facts)) for facts in lacking])
    for odd in ODD:
        _changed(events, [json.dumps(odd) if odd != {} else '{"x": 0}'] * len(events))


def test_what_is_no_json_is_named(events):
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL takes no such values")
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA ignore_check_constraints = ON")
        try:
            for text in NOT_EVEN_JSON:
                _changed(events, [text] * len(events))
                assert facts_said(text) == {}
        finally:
            cursor.execute("PRAGMA ignore_check_constraints = OFF")


@pytest.mark.parametrize("number", [1, 2**63 - 1])
def test_the_number_of_a_row_is_taken(number):
    assert row_said(number) == number
