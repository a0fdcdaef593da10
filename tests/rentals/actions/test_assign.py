"""Kits lent to many students at once: what is written is what single acts write, in few queries."""

from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from rentals import transaction
from rentals.actions.assign import Assignment, assign, assign_many
from rentals.actions.deposit import receive_deposit
from rentals.actions.earmark import set_aside
from rentals.actions.issue import hold, release, unassign
from rentals.actions.record_many import KitNews, record_kits
from rentals.actions.register import remove_part
from rentals.actions.runs import assign_all, withdraw
from rentals.errors import Refused
from rentals.lifecycle import Verb
from rentals.models import Kit, Loan, Practice
from rentals.verify import verify
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    StudentFactory,
    complete_kit,
    packed_loan,
)
from tests.written import AT, rows_written

pytestmark = pytest.mark.django_db


def all_sorts() -> list[Assignment]:
    """A kit that is not cleared, one that lacks a part, one whose student had another one, whose
    deposit goes along, one set aside, one that was held; of two runs, one of which has worked out
    its days; students of three countries.
    """
    with transaction.atomic():
        Practice.objects.create(pk=1, country="DE")
    run = CourseRunFactory(post_by_rule="as the post takes", return_by_rule="as the post takes")
    other = CourseRunFactory(deposit=Decimal(0))
    kits = [complete_kit(run.kit_type, cleared=number > 0) for number in range(5)]
    countries = ["DE", "US", "CH", "", "DE"]
    students = [EnrolmentFactory(run=run, student__country=country) for country in countries]
    remove_part(kits[1], kits[1].parts.first(), to="spare", reason="looked at")
    receive_deposit(assign(kits[4], students[3]), amount=Decimal(50))
    unassign(kits[4], reason="another one goes")
    set_aside({students[2].pk: kits[3].code, students[4].pk: kits[3].code})
    hold(kits[2], reason="smells")
    release(kits[2])
    [first, *pairs] = zip(reversed(kits), students, strict=True)
    last = (complete_kit(other.kit_type), EnrolmentFactory(run=other))
    given = [Assignment(*first, post_by=run.post_by, due_on=run.return_by)]
    return [*given, *(Assignment(*pair) for pair in [*pairs, last])]


def one_by_one(asked: list[Assignment]) -> list[Loan]:
    with transaction.atomic():
        return [
            assign(kit, enrolment, post_by=post_by, due_on=due_on, replaces=replaces, at=AT)
            for kit, enrolment, post_by, due_on, replaces in asked
        ]


def test_many_at_once_write_what_single_acts_write() -> None:
    asked = all_sorts()
    single, many = (
        rows_written(lambda: one_by_one(asked)),
        rows_written(lambda: assign_many(asked, at=AT)),
    )
    assert many == single
    assert len(many["rentals.Loan"]) == len(asked) + 1
    assert {row[2] for row in many["rentals.Entry"]} >= {"carried_in", "deposit_asked"}
    assert rows_written(lambda: None)["rentals.Earmark"] and not many["rentals.Earmark"]
    assign_many(asked)
    assert verify() == []


def pairs_of(count: int) -> list[Assignment]:
    run = CourseRunFactory()
    with transaction.atomic():
        first = Kit.objects.count()
        kits = Kit.objects.bulk_create(
            Kit(code=f"K{first + number:06d}", kit_type=run.kit_type) for number in range(count)
        )
        record_kits(KitNews(kit, Verb.REGISTERED, "Registered.") for kit in kits)
        return [Assignment(kit, EnrolmentFactory(run=run)) for kit in kits]


def test_a_further_kit_costs_less_than_one_query() -> None:
    few, many = pairs_of(2), pairs_of(42)
    counts = []
    for asked in (few, many):
        with CaptureQueriesContext(connection) as queries:
            assign_many(asked)
        counts.append(len(queries))
    assert counts[1] - counts[0] < 40 / 2, counts
    assert counts[0] < 40


def test_the_first_that_cannot_be_is_told_and_nothing_is_written() -> None:
    asked = pairs_of(3)
    out = packed_loan().kit
    gone = withdraw(EnrolmentFactory(run=asked[0].enrolment.run))
    alien = StudentFactory()
    kit, student = asked[0].kit, asked[1].enrolment
    wrong = [
        (Assignment(out, student), "is packed and cannot be assigned", "kit"),
        (Assignment(kit, student), "is assigned and cannot be assigned", "kit"),
        (Assignment(asked[1].kit, gone), "withdrew from", "enrolment"),
        (Assignment(asked[1].kit, EnrolmentFactory(student=alien)), "needs another kit", "kit"),
        (Assignment(asked[1].kit, asked[0].enrolment), "already has kit", "enrolment"),
    ]
    for row, sentence, field in wrong:
        before = Loan.objects.count()
        with pytest.raises(Refused, match=sentence) as refusal:
            assign_many([asked[0], row])
        assert refusal.value.field == field
        with pytest.raises(Refused, match=sentence) as refusal:
            assign_all([(asked[0].enrolment, asked[0].kit), (row.enrolment, row.kit)])
        assert refusal.value.field == f"kit_{row.enrolment.pk}"
        assert Loan.objects.count() == before
    with pytest.raises(Refused, match="is due back before it is posted") as refusal:
        assign_many([asked[0], asked[2]._replace(due_on=AT.date())])
    assert refusal.value.field == "due_on"
