"""Which returned kits the bench caught, and what followed."""

from datetime import UTC, datetime, timedelta

import pytest

from readiness.selectors.caught import caught_in_full, caught_returns, returns_tested
from rentals.actions.assign import assign
from rentals.actions.issue import clear
from rentals.actions.register import swap_part
from rentals.lifecycle import Verb
from rentals.models import Event, Loan
from rentals.reports.scope import ReportScope
from tests.factories import EnrolmentFactory, spare
from tests.rentals.selectors.reports.ended import POSTED, ended_loan

from .measured import measured

pytestmark = pytest.mark.django_db
BACK = datetime(2026, 3, 12, 12, tzinfo=UTC)


def _fitted_long_ago() -> None:
    """The rows of tests are fitted and cleared today: here that was before the first parcel."""
    before = POSTED - timedelta(days=30)
    Event.objects.filter(verb__in=(Verb.FITTED, Verb.CLEARED)).update(at=before)


def test_a_refused_return_says_what_was_found_and_done_and_how_long_before_the_next_parcel():
    loan = ended_loan(days=10)
    kit = loan.kit
    _fitted_long_ago()
    measured(kit, BACK - timedelta(days=20), "excess_noise")  # before it went out
    measured(kit, BACK + timedelta(days=1), "intermittent_lead", "lead_unproven")
    measured(kit, BACK + timedelta(days=2), "lead_unproven")
    measured(kit, BACK + timedelta(days=3), "open_lead", set_aside="Wrong kit.")
    old = kit.parts.get(kind="lead_set")
    swap_part(kit, old, spare("lead_set"), at=BACK + timedelta(days=4))
    measured(kit, BACK + timedelta(days=5))
    clear(kit, why="all tests fit", at=BACK + timedelta(days=5))
    run = EnrolmentFactory(run__kit_type=kit.kit_type)
    after = assign(kit, run)
    Loan.objects.filter(pk=after.pk).update(post_by="2026-03-30")
    (caught,) = caught_in_full(list(caught_returns(ReportScope())))
    assert caught.refused
    assert caught.caught_on == (BACK + timedelta(days=1)).date()
    assert caught.findings == ["Intermittent lead", "Not proven: lead"]
    assert caught.followed == [
        "lead set sent to repair on 16 Mar 2026",
        "lead set replaced on 16 Mar 2026",
        "cleared on 17 Mar 2026",
    ]
    assert caught.days == 17
    # What is found after the kit has left again belongs to its next return.
    Loan.objects.filter(pk=after.pk).update(dispatched_at=BACK + timedelta(hours=1))
    assert not caught_returns(ReportScope()).exists()


def test_days_are_those_of_the_next_run_where_no_loan_is_planned_and_none_without():
    loan = ended_loan(days=10)
    _fitted_long_ago()
    measured(loan.kit, BACK + timedelta(days=1), "lead_unproven")
    (caught,) = caught_in_full(list(caught_returns(ReportScope())))
    assert not caught.refused
    assert caught.followed == []
    run = loan.enrolment.run
    assert caught.days == (run.post_by - caught.caught_on).days
    run.post_by = BACK.date()
    run.save(update_fields=["post_by"])
    (caught,) = caught_in_full(list(caught_returns(ReportScope())))
    assert caught.days is None


def test_kits_that_were_not_tested_since_do_not_count():
    ended_loan(days=10)
    sound = ended_loan(days=10)
    measured(sound.kit, BACK + timedelta(days=1))
    assert list(returns_tested(ReportScope())) == [sound]
    assert not caught_returns(ReportScope()).exists()
    assert not returns_tested(ReportScope(run=EnrolmentFactory().run.pk)).exists()
