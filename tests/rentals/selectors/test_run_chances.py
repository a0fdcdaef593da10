"""The chances of runs, read from the rows."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.issue import hold
from rentals.models import CourseRun, Earmark, Loan
from rentals.selectors.run_chances import (
    chances_of,
    first_at_risk,
    forecast,
)
from rentals.selectors.run_outlook import coming_runs, outlook
from rentals.selectors.today import work_today
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    KitTypeFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)

pytestmark = pytest.mark.django_db


def today() -> date:
    return timezone.localdate()


def run_of(kit_type, students, days=21):
    starts = today() + timedelta(days=days + 7)
    run = CourseRunFactory(kit_type=kit_type, starts_on=starts)
    for _ in range(students):
        EnrolmentFactory(run=run)
    return run


def out(kit_type, due_in):
    """A kit that is away on a run of long ago, due back in some days."""
    loan = dispatch(packed_loan(complete_kit(kit_type)).kit)
    due = today() + timedelta(days=due_in)
    posted = min(due, today()) - timedelta(days=60)
    Loan.objects.filter(pk=loan.pk).update(due_on=due, post_by=posted)
    CourseRun.objects.filter(pk=loan.enrolment.run_id).update(
        starts_on=posted, ends_on=today() - timedelta(days=1), post_by=posted, return_by=due
    )
    return loan


def test_cleared_kits_serve_a_run_for_sure():
    kit_type = KitTypeFactory()
    run = run_of(kit_type, 2)
    complete_kit(kit_type)
    complete_kit(kit_type)
    found, basis = chances_of(run, today())
    assert found.chance.serve_all == 1
    assert not found.kits
    assert basis[0].startswith("No kit has come back yet")
    assert first_at_risk(today(), today() + timedelta(days=60)) is None


def test_kits_away_and_at_the_bench_come_with_their_acts():
    kit_type = KitTypeFactory()
    run = run_of(kit_type, 3)
    soon, overdue = out(kit_type, 5), out(kit_type, -2)
    bench = complete_kit(kit_type, cleared=False)
    hold(complete_kit(kit_type), reason="to be repaired")
    found, _ = chances_of(run, today())
    assert found.day == run.post_by
    assert 0 < found.chance.serve_all < 0.9
    assert found.at_risk
    rows = {row.kit.pk: row for row in found.kits}
    assert set(rows) == {soon.kit_id, overdue.kit_id, bench.pk}
    mail = reverse("rentals:message_write", args=[soon.pk])
    assert rows[soon.kit_id].next.url == f"{mail}?occasion=due_soon"
    assert rows[soon.kit_id].note == "due in 5 days"
    assert rows[overdue.kit_id].next.act == "Chase"
    assert rows[bench.pk].next.url == reverse("readiness:kit_bench", args=[bench.code])
    assert rows[bench.pk].back == "here"


def test_nobody_is_asked_for_a_kit_weeks_before_it_is_due():
    kit_type = KitTypeFactory()
    run = run_of(kit_type, 1)
    fair, unfair = out(kit_type, 20), out(kit_type, 60)
    assigned_loan(complete_kit(kit_type))
    found, _ = chances_of(run, today())
    assert [row.kit.pk for row in found.kits] == [fair.kit_id]
    assert unfair.kit.code in {kit.kit.code for kit in found.chance.kits}


def test_earlier_runs_take_kits_first_and_kits_of_later_ones_are_taken():
    kit_type = KitTypeFactory()
    first, second = run_of(kit_type, 1, 14), run_of(kit_type, 1, 28)
    complete_kit(kit_type)
    assert chances_of(first, today())[0].chance.serve_all == 1
    later, _ = chances_of(second, today())
    assert later.earlier == 1
    assert later.chance.serve_all == 0
    assigned_loan(complete_kit(kit_type), second.enrolments.get())
    assert chances_of(second, today())[0].chance.serve_all == 1


def test_a_kit_set_aside_for_a_later_run_is_left_for_it():
    kit_type = KitTypeFactory()
    first, second = run_of(kit_type, 1, 14), run_of(kit_type, 1, 28)
    kits = [complete_kit(kit_type), complete_kit(kit_type)]
    for kit in kits:
        later = EnrolmentFactory(run=second)
        Earmark.objects.create(kit=kit, enrolment=later, at=timezone.now())
    assert chances_of(first, today())[0].chance.serve_all == 0
    Earmark.objects.all().delete()
    assert chances_of(first, today())[0].chance.serve_all == 1


def test_a_run_whose_parcels_have_left_has_no_chances_any_more():
    loan = dispatch(packed_loan().kit)
    assert chances_of(loan.enrolment.run, today())[0] is None
    assert not coming_runs(today())


# Which run is at risk hangs on the days that post and bench rest: on a Saturday the first one is.
@time_machine.travel(datetime(2026, 11, 25, 9, 30, tzinfo=UTC))
def test_a_run_has_the_same_chances_on_every_page():
    kit_type = KitTypeFactory()
    first, second = run_of(kit_type, 1, 14), run_of(kit_type, 2, 28)
    out(kit_type, 5), out(kit_type, -2), complete_kit(kit_type, cleared=False)
    view = outlook(today(), [first, second])
    seen = [forecast(run, view).chance for run in (second, first, second)]
    assert seen[0] == seen[2] == chances_of(second, today())[0].chance
    at_risk = first_at_risk(today(), today() + timedelta(days=60))
    assert at_risk.run == second
    # What single kits would change is found only where it is shown.
    assert at_risk.chance == replace(seen[0], kits=()) and seen[0].kits
    assert at_risk.sentence == forecast(second, view).sentence


def test_today_names_the_first_run_at_risk_once():
    kit_type = KitTypeFactory()
    run_of(kit_type, 2, 20), run_of(kit_type, 2, 30), run_of(kit_type, 2, 90)
    out(kit_type, 10)
    groups = {group.title: group for group in work_today(today())}
    (line,) = groups["Kits may lack"].lines
    assert line.url == reverse("rentals:chances")
    assert line.what.startswith("All 2 students will have a kit by")
