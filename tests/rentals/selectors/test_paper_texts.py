"""Every text that the papers print."""

import pytest

from rentals.models import CourseRun
from rentals.selectors.paper_texts import loan_texts, run_texts
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db


def test_names_addresses_and_lines_are_among_the_texts(django_assert_num_queries):
    loan = packed_loan()
    loan.override_reason = "The only kit left."
    student, run = loan.enrolment.student, loan.enrolment.run
    texts = set(loan_texts(loan))
    serials = set(loan.kit.parts.values_list("serial", flat=True))
    assert texts >= {student.name, student.street, run.name, "Charger", "The only kit left."}
    assert texts >= serials
    run = CourseRun.objects.select_related("kit_type").get()
    with django_assert_num_queries(2):
        assert set(run_texts(run)) >= {student.name, student.city, run.name, "Charger"}
