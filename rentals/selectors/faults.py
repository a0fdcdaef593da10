"""Fault reports: the list, the day's work, one report, and those of a loan or kit."""

from __future__ import annotations

from django.db.models import Q, QuerySet

from rentals.models import FaultReport, Kit, Loan
from rentals.selectors.next_steps import Button, fault_button
from rentals.selectors.search import loans_numbers, together
from rentals.states import FaultState

ALL = "all"
NOT_CLOSED = [state for state in FaultState if state is not FaultState.CLOSED]
SHOWN_ON_KIT = 8


def fault_reports() -> QuerySet[FaultReport]:
    """All reports with what their rows show, the newest first."""
    return FaultReport.objects.select_related(
        "loan__kit", "loan__enrolment__student", "loan__enrolment__run"
    )


def faults_listed(q: str = "", state: str = "") -> QuerySet[FaultReport]:
    """Reports that fit the filter; without a state those not closed yet."""
    reports = fault_reports()
    if state in FaultState:
        reports = reports.filter(state=state)
    elif state != ALL:
        reports = reports.filter(state__in=NOT_CLOSED)
    if q:
        of_loans = FaultReport.objects.filter(loan__in=loans_numbers(q))
        alike = reports.select_related(None).filter(symptom__icontains=q)
        reports = reports.filter(pk__in=together(of_loans, alike))
    return reports


def faults_to_answer() -> QuerySet[FaultReport]:
    """Reports that nobody has answered, those of kits out of use first, then the oldest."""
    waiting = fault_reports().filter(state=FaultState.OPEN)
    shown = ("state", "symptom", "out_of_use", "loan__kit__code", "loan__enrolment__student__name")
    return (
        waiting.select_related(None)
        .select_related("loan__kit", "loan__enrolment__student")
        .only(*shown)
        .order_by("-out_of_use", "at", "pk")
    )


def faults_of_loan(loan: Loan) -> list[tuple[FaultReport, Button]]:
    """A loan's reports with the button of each."""
    return [(report, fault_button(report)) for report in loan.fault_reports.all()]


def faults_of_kit(kit: Kit) -> list[tuple[FaultReport, Button]]:
    """What students reported of a kit and is not closed."""
    reports = fault_reports().filter(faults_about(kit.pk))
    return [(report, fault_button(report)) for report in reports[:SHOWN_ON_KIT]]


def faults_about(kit: int) -> Q:
    """Reports of a kit that are not closed."""
    return Q(loan__kit=kit) & ~Q(state=FaultState.CLOSED)
