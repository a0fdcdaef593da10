"""Which fault reports a list, a loan and a kit show."""

import pytest

from rentals.actions.faults import close_fault
from rentals.selectors.faults import faults_listed, faults_of_kit, faults_of_loan, faults_to_answer
from rentals.selectors.today_faults import faults_reported
from tests.rentals.guide import reported

pytestmark = pytest.mark.django_db


def test_a_closed_report_stays_with_its_loan_only():
    report = reported("hum")
    student = report.loan.enrolment.student.name
    for words in ("", "hum", student, report.loan.kit.code):
        assert list(faults_listed(words)) == [report]
    assert not faults_listed("nobody")
    assert [step.act for _, step in faults_of_kit(report.loan.kit)] == ["Read the report"]
    assert faults_reported().total == 1
    close_fault(report, "Done.")
    assert not faults_listed() and not faults_to_answer() and not faults_of_kit(report.loan.kit)
    assert list(faults_listed(state="closed")) == list(faults_listed(state="all")) == [report]
    assert [step.act for _, step in faults_of_loan(report.loan)] == ["See the report"]
