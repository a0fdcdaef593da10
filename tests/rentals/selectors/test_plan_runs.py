"""Runs above the plan, and kits taken at once."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.next_acts import KitWaits
from rentals.planning.plan_window import window_of
from rentals.selectors.plan_days import day_rules
from rentals.selectors.plan_runs import plan_choices, run_row, runs_planned, type_needs
from tests.factories import CourseRunFactory, EnrolmentFactory, assigned_loan, complete_kit

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def test_runs_of_the_weeks_stand_with_who_waits_and_the_way_to_assign() -> None:
    today = timezone.localdate()
    run = EnrolmentFactory().run
    over = CourseRunFactory(starts_on=today - 200 * DAY)
    window = window_of("", "", today)
    (found,) = runs_planned(window, None, None)
    row = run_row(found, today)
    assert (row.run, row.waits) == (run, KitWaits(1))
    assert row.assign and f"/runs/{run.pk}/assign/" in row.assign.url
    assert row.drawn.start == run.post_by
    assert list(runs_planned(window, over.kit_type_id, None)) == []
    assert list(runs_planned(window, None, over.pk)) == []
    late = run_row(found, run.ends_on + DAY)
    assert late.assign is None
    types, runs = plan_choices(window)
    assert len(types) == 3 and runs == [("", "all"), (str(run.pk), run.name)]


def test_kits_are_counted_at_once_and_not_one_after_the_other() -> None:
    today = timezone.localdate()
    loan = assigned_loan()
    run, kit_type = loan.enrolment.run, loan.kit.kit_type
    EnrolmentFactory(run=run)
    after = CourseRunFactory(kit_type=kit_type, starts_on=run.return_by + 60 * DAY)
    EnrolmentFactory(run=after)
    (need,) = type_needs(day_rules(), today)
    assert (need.needed, need.have) == (2, 1)
    assert need.words.endswith("2 needed at once, 1 kit is in use: 1 lack.")
    complete_kit(kit_type)
    (need,) = type_needs(day_rules(), today, kit_type.pk)
    assert need.words.endswith("at most 2 of 2 are taken at once.")
