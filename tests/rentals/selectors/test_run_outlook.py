"""Where the kits stand that coming runs may have."""

from datetime import timedelta

import pytest
from django.db.models.signals import post_init
from django.utils import timezone

from rentals.actions.issue import hold
from rentals.actions.receive import arrive
from rentals.models import Earmark, Kit, Loan
from rentals.selectors.run_chances import first_at_risk, forecast
from rentals.selectors.run_outlook import outlook
from tests.factories import KitTypeFactory, assigned_loan, complete_kit
from tests.rentals.selectors.test_run_chances import out, run_of, today

pytestmark = pytest.mark.django_db


def test_kits_that_may_go_out_are_counted_once_for_all_runs():
    """A kit serves a run unless it is away, held, not cleared, on another run or set aside for one
    that is posted later.
    """
    kit_type = KitTypeFactory()
    first, second = run_of(kit_type, 3, 14), run_of(kit_type, 3, 28)
    complete_kit(kit_type), complete_kit(kit_type, cleared=False)
    hold(complete_kit(kit_type), reason="to be repaired")
    out(kit_type, 5)
    arrive(out(kit_type, 3).kit)
    for run in (first, second):
        assigned_loan(complete_kit(kit_type), run.enrolments.first())
        mark = run.enrolments.last()
        Earmark.objects.create(kit=complete_kit(kit_type), enrolment=mark, at=timezone.now())
    view = outlook(today(), [first, second])
    counts = view.ready_kits[kit_type.pk]
    # The second may have what is set aside for the first, less its two students without a kit.
    assert counts == {
        (None, None): 1,
        (None, first.pk): 1,
        (None, second.pk): 1,
        (first.pk, None): 1,
        (second.pk, None): 1,
    }
    assert [forecast(run, view).chance.sure for run in (first, second)] == [3, 4 - 2]


def test_no_kit_and_no_loan_becomes_an_object_where_a_run_at_risk_is_only_named():
    kit_type = KitTypeFactory()
    run = run_of(kit_type, 2)
    out(kit_type, 5), out(kit_type, -2), complete_kit(kit_type, cleared=False)
    built = []

    def note(sender, **_):
        built.append(sender)

    for model in (Kit, Loan):
        post_init.connect(note, sender=model)
    try:
        found = first_at_risk(today(), today() + timedelta(days=60))
        assert found and found.run == run and built == []
        forecast(run, outlook(today(), [run]))
        assert set(built) == {Kit, Loan}
    finally:
        for model in (Kit, Loan):
            post_init.disconnect(note, sender=model)
