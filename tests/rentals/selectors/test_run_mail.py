"""Who of a run gets a mail, who does not, and why."""

from datetime import date, timedelta

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.mail_run import mail_run
from rentals.actions.receive import arrive, finish_check, note_line
from rentals.selectors.run_mail import addressees, sample_letter
from tests.factories import CourseRunFactory, EnrolmentFactory
from tests.rentals.actions.acts import all_back
from tests.rentals.actions.test_mail_run import loan_on

pytestmark = pytest.mark.django_db


def reasons(run, occasion, today=None):
    rows = addressees(run, occasion, today or date.today())
    return {row.enrolment.student.name: row.problem or row.doubt for row in rows}


def test_each_student_is_there_with_what_stands_against_a_mail(django_assert_num_queries):
    run = CourseRunFactory()
    away = dispatch(loan_on(run, name="Ada").kit)
    loan_on(run, name="Ben")
    dispatch(loan_on(run, name="Cleo", email="jörg@strings.example").kit)
    EnrolmentFactory(run=run, student__name="Dora")
    with django_assert_num_queries(3):
        listed = reasons(run, "arrived")
    fault = listed.pop("Cleo")
    assert "before the @" in fault
    assert listed == {"Ada": "", "Ben": "the kit is packed", "Dora": "has no kit"}
    mail_run(run, "arrived", [away.pk])
    assert reasons(run, "arrived")["Ada"] == "such a mail is approved already"
    assert reasons(run, "overdue")["Ada"] == "not overdue"
    late = away.due_on + timedelta(days=1)
    assert reasons(run, "overdue", late)["Ada"] == ""
    assert "Ada" in sample_letter(away, "overdue").text


def test_only_whose_return_lacks_something_is_asked_for_it():
    run = CourseRunFactory()
    for name in ("Ada", "Ben"):
        check = arrive(dispatch(loan_on(run, name=name).kit).kit)
        all_back(check)
        if name == "Ada":
            note_line(check.lines.get(packing_line__part_kind="charger"), "missing")
        finish_check(check)
    assert reasons(run, "shortfall") == {"Ada": "", "Ben": "nothing lacks, or it is settled"}
    assert reasons(run, "statement") == {"Ada": "", "Ben": ""}
