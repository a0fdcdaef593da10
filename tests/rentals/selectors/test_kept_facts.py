"""What is owed and what runs used is kept, and put right for whatever was touched since."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from rentals import transaction
from rentals.actions.assign import assign
from rentals.actions.balance import note_balance_paid
from rentals.actions.deposit import receive_deposit
from rentals.actions.dispatch import dispatch, extend
from rentals.actions.issue import clear, hold
from rentals.actions.receive import arrive
from rentals.actions.record import record_erasure
from rentals.actions.settle import charge, recover, settle
from rentals.errors import Refused
from rentals.models import Event, Loan, Practice, Shortfall
from rentals.noted import noting
from rentals.planning.bench_chance import BenchRecord
from rentals.planning.lateness import PastLoan
from rentals.selectors import kept_facts, owed, past_loans, stock_history
from rentals.selectors.kept_facts import KeptFacts
from rentals.selectors.owed import debts
from tests.factories import EnrolmentFactory, complete_kit, packed_loan
from tests.hour import most
from tests.rentals.actions.acts import shortfall_of

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def facts_are_kept_at_once(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """All that a test wrote counts as settled, and what other tests kept is not looked at."""
    monkeypatch.setattr(kept_facts, "SETTLED_AFTER", timedelta(0))
    monkeypatch.setattr(owed, "_kept", KeptFacts())
    monkeypatch.setattr(stock_history, "_kept", KeptFacts())
    monkeypatch.setattr(past_loans, "_kept", KeptFacts())
    monkeypatch.setattr(past_loans, "_steps_kept", KeptFacts())
    return


def history() -> dict[int, Any]:
    return dict(stock_history.stock_history(timezone.localdate()))


def past() -> list[PastLoan]:
    return past_loans.past_loans(Practice.current(), timezone.localdate())


def record() -> BenchRecord:
    return past_loans.fleet_record(timezone.now())


def anew() -> tuple[list[Any], dict[int, Any], list[PastLoan], BenchRecord]:
    """The answers with nothing kept."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(owed, "_kept", KeptFacts())
        patch.setattr(stock_history, "_kept", KeptFacts())
        patch.setattr(past_loans, "_kept", KeptFacts())
        patch.setattr(past_loans, "_steps_kept", KeptFacts())
        return debts(), history(), past(), record()


def queries(read: Any) -> list[str]:
    with CaptureQueriesContext(connection) as seen:
        read()
    return [query["sql"] for query in seen.captured_queries]


def test_what_nobody_touched_is_not_read_again():
    charge(shortfall_of("charger"), Decimal(100))
    found = debts(), history(), past(), record()
    assert all(found)
    assert not [sql for sql in queries(debts) if "rentals_entry" in sql]
    assert not [sql for sql in queries(history) if "rentals_packingline" in sql]
    assert not [sql for sql in queries(past) if "rentals_loan" in sql]
    assert not [sql for sql in queries(record) if "LIMIT" in sql]
    assert (debts(), history(), past(), record()) == found == anew()


def test_of_what_was_touched_no_more_is_read():
    charge(shortfall_of("charger"), Decimal(100))
    other = packed_loan()
    assert debts() and history() and past() and record()
    dispatch(other.kit)
    (ledger,) = [sql for sql in queries(debts) if "rentals_entry" in sql]
    assert f'"loan_id" IN ({other.pk})' in ledger
    (lines,) = [sql for sql in queries(history) if "rentals_packingline" in sql]
    assert f'"run_id" IN ({other.enrolment.run_id})' in lines
    assert (debts(), history(), past(), record()) == anew()


ACTS = 40


@pytest.mark.parametrize("seed", range(most(1, 3)))
@pytest.mark.parametrize("many", [2, 100])
def test_the_answers_are_right_after_every_act(monkeypatch, seed: int, many: int):
    monkeypatch.setattr(kept_facts, "MANY_EVENTS", many)
    dice = random.Random(seed)
    first = shortfall_of("charger").loan.kit
    kits = [first, *(complete_kit(first.kit_type) for _ in range(3))]
    acts = [
        lambda kit, _: assign(kit, EnrolmentFactory(run__kit_type=kit.kit_type)),
        lambda _, loan: receive_deposit(loan),
        lambda kit, _: dispatch(packed_loan(kit).kit),
        lambda kit, _: arrive(kit),
        lambda kit, _: clear(kit, why="it was tested"),
        lambda kit, _: hold(kit, reason="to be seen to"),
        lambda *_: charge(dice.choice(Shortfall.objects.all()), Decimal(dice.randrange(1, 200))),
        lambda *_: recover(dice.choice(Shortfall.objects.all())),
        lambda _, loan: settle(loan),
        lambda _, loan: note_balance_paid(loan, timezone.localdate()),
    ]
    done = 0
    for _ in range(ACTS):
        kit, loan = dice.choice(kits), dice.choice([*Loan.objects.all(), None])
        try:
            with transaction.atomic():
                dice.choice(acts)(kit, loan)
            done += 1
        except (Refused, IndexError, AttributeError):
            continue
        assert (debts(), history(), past(), record()) == anew()
    assert done >= 5


def test_only_the_newest_past_loans_count(monkeypatch):
    monkeypatch.setattr(past_loans, "MOST_LOANS", 2)
    monkeypatch.setattr(past_loans, "_SPARE", 1)
    days = [timezone.localdate() + timedelta(days=number) for number in (93, 91, 92, 90)]
    loans = [dispatch(packed_loan().kit) for _ in days]
    for loan, day in zip(loans, days, strict=True):
        Loan.objects.filter(pk=loan.pk).update(due_on=day)
    assert [loan.due_on for loan in past()] == [days[0], days[2]]
    extend(loans[1], days[0])
    assert (
        [loan.due_on for loan in past()]
        == [days[0], days[0]]
        == [loan.due_on for loan in anew()[2]]
    )


def test_a_run_posted_on_another_day_counts_from_there():
    loan = dispatch(packed_loan().kit)
    run = loan.enrolment.run
    assert history()
    run.post_by -= timedelta(days=30)
    run.save()
    assert history() == anew()[1]
    assert {row.posted_on[run.pk] for row in history().values()} == {run.post_by}
    run.post_by -= timedelta(days=stock_history.HISTORY_DAYS)
    run.save()
    assert history() == {}


def test_nothing_is_kept_of_an_act_that_comes_to_nothing():
    short = shortfall_of("charger")
    with pytest.raises(ZeroDivisionError), transaction.atomic(), noting():
        charge(short, Decimal(100))
        assert debts()
        raise ZeroDivisionError
    assert debts() == []


def test_all_is_read_anew_where_the_last_event_is_gone_or_somebody_was_erased():
    short = shortfall_of("charger")
    charge(short, Decimal(100))
    assert debts()
    record_erasure(short.loan.enrolment.student_id, "Erased.")
    assert [sql for sql in queries(debts) if "rentals_entry" in sql]
    assert not [sql for sql in queries(debts) if "rentals_entry" in sql]
    Event.objects.filter(pk=Event.objects.latest("pk").pk).update(hash="another backup's")
    assert [sql for sql in queries(debts) if "rentals_entry" in sql]


def _on_sqlite() -> bool:
    return connection.vendor == "sqlite"


def test_the_last_settled_event_is_found_from_the_end_on():
    assert kept_facts._settled() is None
    charge(shortfall_of("charger"), Decimal(100))
    numbers = list(Event.objects.order_by("-pk").values_list("pk", flat=True)[:4])
    Event.objects.filter(pk__in=numbers[:3]).update(at=timezone.now() + timedelta(hours=1))
    assert kept_facts._settled().event == numbers[3]
    (settled,) = queries(kept_facts._settled)
    with connection.cursor() as cursor:
        cursor.execute(f"EXPLAIN QUERY PLAN {settled}" if _on_sqlite() else f"EXPLAIN {settled}")
        plan = str(cursor.fetchall())
    assert "TEMP B-TREE" not in plan and "_at_" not in plan, plan
    Event.objects.update(at=timezone.now() + timedelta(hours=1))
    assert kept_facts._settled() is None


def test_what_may_still_be_on_its_way_is_read_each_time(monkeypatch):
    monkeypatch.setattr(kept_facts, "SETTLED_AFTER", timedelta(minutes=10))
    charge(shortfall_of("charger"), Decimal(100))
    assert debts()
    assert [sql for sql in queries(debts) if "rentals_entry" in sql]
