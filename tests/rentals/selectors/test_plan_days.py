"""What the practice has set reaches the plan, and what follows for a run and its loans."""

from datetime import date, timedelta

import pytest

from rentals.actions.dispatch import extend
from rentals.actions.runs import save_run
from rentals.actions.transit import set_transit
from rentals.models import CourseRun, Practice
from rentals.planning.calendar import Margins, Turnaround
from rentals.selectors.plan_days import day_rules, days_by_country, turnaround_of
from tests.factories import CourseRunFactory, EnrolmentFactory, assigned_loan, complete_kit

pytestmark = pytest.mark.django_db


def test_the_practice_sets_turnaround_and_margins() -> None:
    practice = Practice.objects.create(
        pk=1,
        country="SE",
        days_to_spare=2,
        days_to_send=3,
        days_to_check=1,
        days_to_clean=2,
        days_to_charge=3,
        days_to_bench=4,
        days_to_restock=5,
    )
    set_transit("FI", days_out=3, days_back=4)
    rules = day_rules()
    assert rules.turnaround == turnaround_of(practice) == Turnaround(1, 2, 3, 4, 5)
    assert (rules.home, rules.margins) == ("SE", Margins(spare=2, to_send=3))
    assert rules.transits == {"FI": (3, 4)}


def test_a_new_practice_counts_as_the_plan_does_by_itself() -> None:
    assert turnaround_of(Practice()) == Turnaround()
    assert day_rules().margins == Margins()


@pytest.fixture
def spring() -> CourseRun:
    """A run whose days were worked out, lent from Germany."""
    Practice.objects.create(pk=1, country="DE")
    rules = day_rules()
    starts, ends = date(2026, 3, 2), date(2026, 5, 29)
    post, back = rules.post_by(starts), rules.back_by(ends)
    return CourseRunFactory(
        starts_on=starts,
        ends_on=ends,
        post_by=post.day,
        post_by_rule=post.rule,
        return_by=back.day,
        return_by_rule=back.rule,
    )


def lent_to(run: CourseRun, country: str):
    enrolment = EnrolmentFactory(run=run, student__country=country)
    return assigned_loan(complete_kit(run.kit_type), enrolment)


def test_a_loan_gets_the_days_of_its_students_country(spring: CourseRun) -> None:
    here, there = lent_to(spring, "DE"), lent_to(spring, "ES")
    assert (here.post_by, here.post_by_rule) == (spring.post_by, spring.post_by_rule)
    assert there.post_by == date(2026, 2, 19)
    assert "the post takes 6 to Spain and 1 to spare" in there.post_by_rule
    assert there.due_on > here.due_on and "from Spain" in there.due_on_rule
    (row,) = days_by_country(spring, spring.starts_on).rows
    assert (row.country, row.students, row.post.day, row.late) == ("Spain", 1, there.post_by, "")


def test_a_day_that_was_entered_holds_for_all_and_what_the_post_cannot_do_is_said(
    spring: CourseRun,
) -> None:
    spring.post_by, spring.post_by_rule = date(2026, 2, 25), ""
    spring.save()
    loan = lent_to(spring, "ES")
    assert (loan.post_by, loan.post_by_rule) == (date(2026, 2, 25), "")
    (row,) = days_by_country(spring, spring.starts_on).rows
    assert days_by_country(spring, spring.starts_on).late_students == 1
    assert days_by_country(spring, spring.ends_on).rows == ()
    assert row.late.startswith("The post needs Thu 19 Feb 2026: 7 working days before")


def test_new_days_of_a_run_move_its_loans_country_by_country(spring: CourseRun) -> None:
    here, there, own = (lent_to(spring, country) for country in ("DE", "ES", "DE"))
    extend(own, own.due_on + timedelta(days=30))
    rules = day_rules()
    spring.starts_on += timedelta(days=7)
    planned = rules.post_by(spring.starts_on)
    spring.post_by, spring.post_by_rule = planned.day, planned.rule
    save_run(spring)
    before = own.post_by
    for loan in (here, there, own):
        loan.refresh_from_db()
    assert here.post_by == planned.day
    assert there.post_by == rules.post_by(spring.starts_on, "ES").day
    assert own.post_by == before
    assert (own.due_on_rule, own.post_by_rule != "") == ("", True)
