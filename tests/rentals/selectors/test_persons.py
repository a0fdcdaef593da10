"""The words by which a student is known, and which of them are theirs alone."""

import pytest

from rentals.selectors.persons import person_alone, person_of
from tests.factories import StudentFactory, assigned_loan
from tests.rentals.letters import mail_to

pytestmark = pytest.mark.django_db


def test_words_come_from_the_student_the_parcels_and_the_mails_of_before():
    loan = assigned_loan()
    loan.tracking_number = "TN12345"
    loan.save()
    mail_to("before@strings.example", loan=loan, to_name="Viola Before")
    words = set(person_of(loan.enrolment.student).words)
    assert {
        "TN12345",
        "before@strings.example",
        "Viola Before",
        loan.enrolment.student.name,
    } <= words


def test_what_a_family_shares_is_nobodys_alone():
    mia = StudentFactory(name="Mia Lund", phone="0170 555", street="Bow Lane 1")
    StudentFactory(name="Ben Lund", phone="0170 555", street="bow lane 1")
    assert set(person_alone(mia).words) == {"Mia Lund", mia.email}
    assert set(person_of(mia).words) == {"Mia Lund", mia.email, "0170 555", "Bow Lane 1"}
