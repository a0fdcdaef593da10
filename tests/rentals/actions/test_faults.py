"""What becomes of a fault report."""

import pytest

from rentals.actions.faults import answer_fault, close_fault, hold_on_return
from rentals.actions.receive import arrive, finish_check, note_line
from rentals.errors import Refused
from rentals.models import FaultReport, Kit
from rentals.states import FaultState, KitState
from rentals.verify import verify
from tests.rentals.guide import reported

pytestmark = pytest.mark.django_db


def come_back(report: FaultReport, owner) -> Kit:
    check = arrive(report.loan.kit)
    for line in check.lines.exclude(outcome="used_up").select_related("packing_line"):
        note_line(line, "back", cleaned=True, charged=True)
    return Kit.objects.get(pk=finish_check(check, actor=owner).kit_id)


def test_a_report_is_answered_and_closed_with_what_was_done(owner):
    report = reported()
    with pytest.raises(Refused, match="Say what was done"):
        answer_fault(report, "  ", actor=owner)
    report = answer_fault(report, "Try it in the kitchen.", actor=owner)
    assert report.state == FaultState.ANSWERED and report.answered_by == owner
    report = close_fault(report, "A new lead set was sent.", actor=owner)
    assert report.state == FaultState.CLOSED and report.answer == "A new lead set was sent."
    with pytest.raises(Refused, match="closed"):
        answer_fault(report, "More.", actor=owner)
    assert verify() == []


def test_a_kit_that_is_to_be_held_is_held_once_its_return_is_checked(owner):
    report = hold_on_return(reported("flat"), True, actor=owner)
    close_fault(report, "Another kit was sent.", actor=owner)
    kit = come_back(report, owner)
    assert kit.state == KitState.HELD
    assert kit.hold_reason == "Reported by the student: The trace is flat."
    assert verify() == []


def test_without_that_wish_it_goes_to_the_bench(owner):
    report = hold_on_return(reported(), True, actor=owner)
    number = Kit.objects.get(pk=report.loan.kit_id).event_count
    report = hold_on_return(report, True, actor=owner)
    assert Kit.objects.get(pk=report.loan.kit_id).event_count == number
    assert come_back(hold_on_return(report, False, actor=owner), owner).state == KitState.BENCH


def test_a_report_changed_behind_its_events_shows():
    report = reported()
    FaultReport.objects.filter(pk=report.pk).update(state="answered", answer="x")
    code = report.loan.kit.code
    assert verify() == [f"{code}: fault report {report.pk} is not what its events say."]
