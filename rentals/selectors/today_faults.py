"""Faults that students reported, as work of the day."""

from __future__ import annotations

from django.urls import reverse

from rentals.marks import mark_of
from rentals.models import FaultReport
from rentals.selectors.faults import faults_to_answer
from rentals.selectors.next_steps import fault_button
from rentals.selectors.work_lines import SHOWN, WorkGroup, WorkLine


def faults_reported() -> WorkGroup:
    """What students could not mend themselves and wait for an answer to."""

    def line(report: FaultReport) -> WorkLine:
        step = fault_button(report)
        student = report.loan.enrolment.student.name
        urgent = mark_of("caution", "out of use") if report.out_of_use else None
        code = report.loan.kit.code
        return WorkLine(report.symptom, student, step.url, step.act, code=code, mark=urgent)

    rows = list(faults_to_answer()[:SHOWN])
    total = faults_to_answer().count() if len(rows) == SHOWN else len(rows)
    address = reverse("rentals:faults")
    return WorkGroup("Faults reported by students", [line(row) for row in rows], total, address)
