"""Use by run and by student, against the events of dispatch and arrival."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.lifecycle import Verb
from rentals.models import Event, Loan
from rentals.reports.scope import ReportScope
from rentals.selectors.reports.use import use_by_run, use_by_student, use_total
from tests.factories import EnrolmentFactory

from .ended import POSTED, ended_loan, posted_loan

pytestmark = pytest.mark.django_db


def _days_by_events(loan: Loan) -> float:
    at = dict(Event.objects.filter(loan=loan).values_list("verb", "at"))
    return (at.get(Verb.ARRIVED, timezone.now()) - at[Verb.DISPATCHED]) / timedelta(days=1)


def test_days_out_are_those_between_the_events():
    first = ended_loan(days=80.5)
    again = EnrolmentFactory(student=first.enrolment.student)
    second = ended_loan(enrolment=again, days=20)
    out = posted_loan(EnrolmentFactory(run=first.enrolment.run))
    total = use_total(ReportScope())
    days = [_days_by_events(loan) for loan in (first, second, out)]
    assert total.days == pytest.approx(sum(days), abs=0.01)
    assert (total.loans, total.kits, total.students, total.stock.electrodes) == (3, 3, 2, 72)
    runs = use_by_run(ReportScope())
    rows = {row[0].words: row for row in runs.rows_of(list(runs.things))}
    row = rows[first.enrolment.run.name]
    assert row[1:4] == (2, 2, 2)
    assert row[5] == pytest.approx((days[0] + days[2]) / 2, abs=0.01)
    assert runs.chart_of(list(rows.values())).words.count("days") == 2


def test_students_are_named_only_where_that_is_asked():
    loan = ended_loan(days=35)
    student = loan.enrolment.student
    named, plain = (use_by_student(ReportScope(named=named)) for named in (True, False))
    assert named.rows_of([student])[0][0].words == student.name
    assert plain.rows_of([student])[0][0].words == f"student {student.pk}"
    assert plain.rows_of([student])[0][1:5] == (1, 1, 35, 35.0)
    assert "1 student had 1 loan of 1 kit, out for 35 days in the mean" in named.sentence
    assert "They used 24 electrodes" in named.sentence
    assert "without 24 pieces that have no price" in named.sentence


def test_students_are_counted_by_how_long_they_had_kits():
    ended_loan(days=35)
    ended_loan(days=13.9)
    ended_loan(days=14)
    report = use_by_student(ReportScope())
    weeks = dict(report.twin.rows)
    assert weeks["less than 2 weeks"] == 1
    assert weeks["2 to 4 weeks"] == 1
    assert weeks["4 to 6 weeks"] == 1
    assert sum(weeks.values()) == 3
    assert report.chart_of([]).words.startswith("less than 2 weeks: 1; ")
    later = ReportScope(since=timezone.localdate(POSTED) + timedelta(days=1))
    assert use_by_student(later).sentence == ""
    assert sum(count for _, count in use_by_student(later).twin.rows) == 0
