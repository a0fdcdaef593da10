"""A plan accepted in one go, or not at all."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils.timezone import localdate

from rentals.actions.accept_plan import accept_plan
from rentals.actions.issue import hold, refuse_clearance
from rentals.errors import Refused
from rentals.models import OPEN_STAGES, Earmark, Loan
from rentals.selectors.assign_lines import assign_list
from rentals.verify import verify
from tests.factories import CourseRunFactory, EnrolmentFactory, assigned_loan, complete_kit

pytestmark = pytest.mark.django_db


def planned_run(kits: int):
    first = complete_kit()
    rows = [first, *(complete_kit(first.kit_type) for _ in range(kits - 1))]
    run = CourseRunFactory(kit_type=first.kit_type)
    EnrolmentFactory.create_batch(kits, run=run)
    return run, rows


def test_many_rows_are_set_aside_in_few_queries(owner) -> None:
    run, _ = planned_run(8)
    today = localdate()
    planned = assign_list([run], today, anew=False)
    facts = {"digest": planned.facts.digest, "today": today, "actor": owner}
    with CaptureQueriesContext(connection) as queries:
        done = accept_plan([run], planned.changing, **facts)
    assert (done.set_aside, done.assigned) == (8, 0)
    assert len(queries) <= 30
    assert Earmark.objects.count() == 8 and verify() == []
    with pytest.raises(Refused, match="Something moved"):
        accept_plan([run], planned.changing, **facts)


def test_nothing_is_written_where_a_kit_moved_or_nothing_is_ticked() -> None:
    run, kits = planned_run(2)
    today = localdate()
    planned = assign_list([run], today, anew=False)
    hold(kits[0], reason="A strap is missing.")
    with pytest.raises(Refused, match="Something moved"):
        accept_plan([run], planned.changing, digest=planned.facts.digest, today=today)
    with pytest.raises(Refused, match="Nothing was ticked"):
        accept_plan([run], {}, digest=planned.facts.digest, today=today)
    assert not Earmark.objects.exists()


def test_who_has_an_unfit_kit_assigned_gets_the_other_one_assigned_on_the_same_days() -> None:
    loan = assigned_loan()
    other = complete_kit(loan.kit.kit_type)
    refuse_clearance(loan.kit, reason="Lead A is open.")
    run, today = loan.enrolment.run, localdate()
    planned = assign_list([run], today, anew=False)
    done = accept_plan([run], planned.changing, digest=planned.facts.digest, today=today)
    now = Loan.objects.get(enrolment=loan.enrolment, stage__in=OPEN_STAGES)
    assert (done.assigned, done.set_aside) == (1, 0)
    assert (now.kit, now.post_by, now.due_on) == (other, loan.post_by, loan.due_on)
    assert verify() == []
