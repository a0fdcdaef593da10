"""The report of what the bench caught: its sentence, its chart by finding, its rows."""

from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse

from readiness.selectors.caught_report import caught_before_issue
from rentals.reports.scope import ReportScope
from tests.rentals.selectors.reports.ended import ended_loan

from .measured import measured

pytestmark = pytest.mark.django_db
TESTED = datetime(2026, 3, 13, 12, tzinfo=UTC)


def test_the_sentence_gives_counts_a_range_and_the_days_that_were_left(signed_in):
    empty = signed_in.get(reverse("bench_reports:caught")).content.decode()
    assert "Once kits have come back and were tested" in empty
    loans = [ended_loan(days=10) for _ in range(3)]
    for loan, findings in zip(loans, (["excess_noise"], ["lead_unproven"], []), strict=True):
        measured(loan.kit, TESTED, *findings)
    measured(loans[0].kit, TESTED + timedelta(hours=1), "lead_unproven")
    report = caught_before_issue(ReportScope())
    words = report.sentence.replace("\u00a0", " ")
    assert "of 3 returned kits that were tested the bench caught 2, 67 % (21 to 94 %)" in words
    assert "1 not fit, 1 to be tested again" in words
    least = min((loan.enrolment.run.post_by - TESTED.date()).days for loan in loans[:2])
    assert f"{least} at the least" in words
    assert [(row[0], row[1].hits) for row in report.twin.rows] == [
        ("Not proven: lead", 2),
        ("Too much noise", 1),
    ]
    assert report.chart_of([]).words == "Not proven: lead: 2 of 3; Too much noise: 1 of 3"
    page = signed_in.get(reverse("bench_reports:caught")).content.decode()
    assert "cleared on" in page
    file = signed_in.get(reverse("bench_reports:caught_file", args=["xlsx"]))
    assert len(file.getvalue()) > 1000
    none = caught_before_issue(ReportScope(run=loans[2].enrolment.run.pk, run_name="Run"))
    assert none.empty.startswith("No returned kit was refused")
