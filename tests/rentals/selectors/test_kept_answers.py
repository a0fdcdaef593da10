"""Answers are kept while no table that they were worked out of changes, and never longer."""

from __future__ import annotations

import random
from decimal import Decimal

import pytest
from django.contrib.sessions.models import Session
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from django.utils import timezone

from rentals import transaction
from rentals.actions.assign import assign
from rentals.actions.deposit import receive_deposit
from rentals.actions.dispatch import dispatch, note_sent_back
from rentals.actions.issue import clear, hold, note
from rentals.actions.receive import arrive
from rentals.actions.register import register_kit
from rentals.actions.settle import charge
from rentals.errors import Refused
from rentals.models import CourseRun, Kit, Loan, Practice, Shortfall, StockItem, Student
from rentals.selectors import kept_answers
from rentals.selectors.kept_answers import KeptAnswers, count_as_read, reads_apart
from rentals.selectors.run_strips import strips_of, strips_under_way
from rentals.selectors.today import work_today
from tests.factories import (
    EnrolmentFactory,
    KitTypeFactory,
    complete_kit,
    packed_loan,
)
from tests.rentals.actions.acts import shortfall_of

pytestmark = pytest.mark.django_db


class Asked:
    """A question that counts how often its answer was worked out."""

    def __init__(self, read) -> None:
        self._read, self.times = read, 0

    def find(self):
        self.times += 1
        return self._read()


def test_an_answer_is_kept_until_a_table_that_it_read_changes():
    kits = Asked(lambda: Kit.objects.select_related("kit_type").count())
    assert [KeptAnswers().of("kits", kits.find) for _ in range(3)] == [0, 0, 0]
    assert kits.times == 1
    StockItem.objects.create(name="gauze")
    assert (KeptAnswers().of("kits", kits.find), kits.times) == (0, 1)
    complete_kit()
    assert (KeptAnswers().of("kits", kits.find), kits.times) == (1, 2)
    assert (KeptAnswers().of("kits", kits.find), kits.times) == (1, 2)


def test_a_page_sees_one_state_of_the_marks_and_keeps_nothing_under_an_older_one():
    page = KeptAnswers()
    complete_kit()
    kits = Asked(Kit.objects.count)
    assert page.of("kits", kits.find) == 1
    complete_kit()
    assert KeptAnswers().of("kits", kits.find) == 2


def test_tables_that_only_a_join_or_a_subquery_reads_count():
    loan = packed_loan()
    named = Asked(
        lambda: list(
            Loan.objects.filter(
                enrolment__in=Student.objects.filter(name__startswith="V").values("enrolments")
            ).values_list("kit__kit_type__name", flat=True)
        )
    )
    KeptAnswers().of("named", named.find)
    for change in (
        lambda: Student.objects.update(name="Viola"),
        lambda: loan.kit.kit_type.__class__.objects.update(name="Two leads"),
    ):
        before = named.times
        change()
        KeptAnswers().of("named", named.find)
        assert named.times == before + 1
    assert KeptAnswers().of("named", named.find) == ["Two leads"]


def test_what_another_question_read_counts_for_the_one_that_asked_it():
    kit_type = KitTypeFactory()
    gauze = StockItem.objects.filter(name="gauze")
    inner, outer = Asked(gauze.count), Asked(Kit.objects.count)

    def both() -> tuple[int, int]:
        page = KeptAnswers()
        return page.of("outer", lambda: (outer.find(), page.of("inner", inner.find)))

    assert both() == both() == (0, 0)
    register_kit(kit_type)
    assert both() == (1, 0)
    # The inner answer was kept this time, and still its table counts.
    StockItem.objects.create(name="gauze")
    assert both() == (1, 1)
    assert (outer.times, inner.times) == (3, 2)


def test_what_read_a_table_without_a_mark_is_not_kept():
    signed_in = Asked(Session.objects.count)
    assert [KeptAnswers().of("sessions", signed_in.find) for _ in range(2)] == [0, 0]
    assert signed_in.times == 2


def test_what_is_read_apart_counts_only_where_that_is_said():
    def apart() -> int:
        with reads_apart() as read, reads_apart() as inner:
            found = Kit.objects.count()
        assert read == inner == {"rentals_kit"}
        StockItem.objects.count()
        count_as_read({"rentals_loan"})
        return found

    asked, kit = Asked(apart), complete_kit()
    KeptAnswers().of("outer", lambda: KeptAnswers().of("apart", asked.find))
    for change, times in (
        (lambda: Kit.objects.update(note="torn"), 1),
        (lambda: StockItem.objects.create(name="gauze"), 2),
        (lambda: assign(kit, EnrolmentFactory(run__kit_type=kit.kit_type)), 3),
    ):
        change()
        KeptAnswers().of("outer", lambda: KeptAnswers().of("apart", asked.find))
        assert asked.times == times


def test_an_error_keeps_nothing():
    def fails() -> None:
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        KeptAnswers().of("error", fails)
    assert KeptAnswers().of("error", Kit.objects.count) == 0


def test_what_holds_no_more_is_let_go(monkeypatch):
    KeptAnswers().of("yesterday's students", lambda: list(Student.objects.all()))
    EnrolmentFactory()
    KeptAnswers().of("kits", Kit.objects.count)
    assert list(kept_answers._kept) == ["kits"]


def test_no_more_than_so_many_are_kept(monkeypatch):
    monkeypatch.setattr(kept_answers, "MOST_KEPT", 3)
    page = KeptAnswers()
    for number in range(4):
        page.of(number, Kit.objects.count)
    page.of(1, Kit.objects.count)
    page.of(5, Kit.objects.count)
    assert list(kept_answers._kept) == [3, 1, 5]


def answers() -> tuple[object, ...]:
    today = timezone.localdate()
    runs = list(CourseRun.objects.all())
    return work_today(today), strips_of(runs), strips_under_way(today, KeptAnswers())


def answers_anew() -> tuple[object, ...]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(kept_answers, "_kept", type(kept_answers._kept)())
        return answers()


def test_the_days_work_asks_for_nothing_while_nothing_changes():
    shortfall_of("charger")
    packed_loan()
    first = work_today(timezone.localdate())
    with CaptureQueriesContext(connection) as seen:
        again = work_today(timezone.localdate())
    assert again == first and len(first) >= 2
    assert ["rentals_tablemark" in query["sql"] for query in seen.captured_queries] == [True]


def test_a_note_leaves_the_days_work_and_the_runs_as_they_are():
    loan = packed_loan()
    shortfall_of("charger")
    first = answers()
    note(loan.kit, "Its bag is torn.")
    before = dict(kept_answers._kept)
    assert answers() == first
    assert dict(kept_answers._kept) == before and len(before) > 20
    assert answers_anew() == first


@pytest.mark.parametrize("seed", [0, *(pytest.param(n, marks=pytest.mark.night) for n in (1, 2))])
def test_the_days_work_is_right_after_every_act(seed: int):
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
        lambda kit, _: note(kit, "Its bag is torn."),
        lambda _, loan: note_sent_back(loan, timezone.localdate()),
        lambda *_: charge(dice.choice(Shortfall.objects.all()), Decimal(dice.randrange(1, 200))),
        # What no act writes: a plan, and what somebody wrote by hand.
        lambda *_: CourseRun.objects.update(post_by=timezone.localdate()),
        lambda *_: Student.objects.update(name=f"Viola {dice.randrange(99)}"),
        lambda *_: Practice.objects.update_or_create(
            pk=1, defaults={"charge_after_days": dice.randrange(9)}
        ),
        lambda *_: EnrolmentFactory(run=dice.choice(CourseRun.objects.all())),
    ]
    done = 0
    for _ in range(15):
        kit, loan = dice.choice(kits), dice.choice([*Loan.objects.all(), None])
        try:
            with transaction.atomic():
                dice.choice(acts)(kit, loan)
            done += 1
        except (Refused, IndexError, AttributeError):
            continue
        assert answers() == answers_anew()
    assert done >= 5


def test_the_page_shows_the_same_and_then_what_is_new(signed_in):
    def shown() -> str:
        return signed_in.get(reverse("rentals:today")).content.decode()

    loan = packed_loan()
    name = loan.enrolment.student.name
    assert name in shown() and name in shown()
    Student.objects.update(name="Viola <b>Renamed</b>")
    assert name not in shown()
    assert "Viola &lt;b&gt;Renamed&lt;/b&gt;" in shown()
