"""What the instructor does with a fault report: answered, closed, and its kit held on return."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone

from rentals import transaction
from rentals.errors import Refused
from rentals.lifecycle import Verb, may
from rentals.models import FaultReport, Kit, Loan
from rentals.next_acts import may_answer
from rentals.states import FaultState, KitState

from .issue import hold
from .record import Actor, lock_kit, record_kit


@transaction.atomic
def answer_fault(
    report: FaultReport, answer: str, *, actor: Actor = None, at: datetime | None = None
) -> FaultReport:
    """Write down what was done or is to be done; the student reads it on their page.

    Raises
    ------
    Refused
        If nothing is written, or the report is closed.
    """
    kit, report = _lock(report)
    _write(report, answer, actor, at or timezone.now())
    return _change(kit, report, FaultState.ANSWERED, "answered", actor=actor, at=at)


@transaction.atomic
def close_fault(
    report: FaultReport, answer: str, *, actor: Actor = None, at: datetime | None = None
) -> FaultReport:
    """End a report with what was done. Refused as `answer_fault` is."""
    kit, report = _lock(report)
    at = at or timezone.now()
    _write(report, answer, actor, at)
    report.closed_at = at
    return _change(kit, report, FaultState.CLOSED, "closed", actor=actor, at=at)


@transaction.atomic
def hold_on_return(
    report: FaultReport, wanted: bool, *, actor: Actor = None, at: datetime | None = None
) -> FaultReport:
    """Whether the kit is held by itself once its return is checked, be the report closed by then
    or not. Safe to repeat.
    """
    kit, report = _lock(report)
    if report.hold_on_return == wanted:
        return report
    report.hold_on_return = wanted
    does = "is held once it is back" if wanted else "is not held when it is back"
    return _change(kit, report, FaultState(report.state), f"the kit {does}", actor=actor, at=at)


def hold_as_reported(kit: Kit, loan: Loan, *, actor: Actor = None, at: datetime) -> None:
    """Hold a kit whose return has just been checked, where a report of its loan asks for it."""
    asking = loan.fault_reports.filter(hold_on_return=True)
    symptoms = list(dict.fromkeys(asking.order_by("at").values_list("symptom", flat=True)))
    if symptoms and may(Verb.HELD, KitState(kit.state)):
        reason = f"Reported by the student: {'; '.join(symptoms)}."
        hold(kit, reason=reason, actor=actor, at=at)


def _lock(report: FaultReport) -> tuple[Kit, FaultReport]:
    kit = lock_kit(report.loan.kit_id)
    reports = FaultReport.objects.select_for_update(of=("self",)).select_related("loan")
    return kit, reports.get(pk=report.pk)


def _write(report: FaultReport, answer: str, actor: Actor, at: datetime) -> None:
    if not may_answer(FaultState(report.state)):
        raise Refused("The report is closed; what was done stands.")
    if not answer.strip():
        raise Refused("Say what was done; the student reads it.", field="answer")
    report.answer, report.answered_at, report.answered_by = answer.strip()[:2000], at, actor


def _change(
    kit: Kit,
    report: FaultReport,
    state: FaultState,
    what: str,
    *,
    actor: Actor,
    at: datetime | None,
) -> FaultReport:
    report.state = state
    report.save()
    text = f"Fault report, {report.symptom}: {what}."
    facts = {"fault_report": report.pk, "fault_state": report.state}
    record_kit(kit, Verb.NOTED, text, actor=actor, loan=report.loan, data=facts, at=at)
    return report
