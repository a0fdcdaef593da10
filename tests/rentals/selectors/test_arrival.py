"""What is read of arrival checks."""

import pytest

from rentals.actions.arrival_check import answer_arrival
from rentals.planning.arrival import Arrived
from rentals.selectors.arrival import (
    arrival_on_loan,
    arrivals_to_answer,
    asked_of_student,
    lacks_in_words,
    said_lines,
)
from rentals.states import ShortfallKind
from tests.rentals.arrivals import loan_away, loan_with_arrival

pytestmark = pytest.mark.django_db


def test_what_lacked_waits_until_it_is_seen_to():
    loan_with_arrival()
    loan = loan_with_arrival(charger=Arrived(missing=1, note="Bag empty"))
    check = arrivals_to_answer().get()
    assert check.loan == loan
    assert lacks_in_words(check) == "Charger missing on arrival: Bag empty"
    assert arrival_on_loan(loan).to_answer
    answer_arrival(loan, "Another one is posted.")
    assert not arrivals_to_answer().exists() and not arrival_on_loan(loan).to_answer


def test_without_an_arrival_check_all_that_lacks_is_asked_for():
    loan = loan_away()
    line = loan.packing_lines.get(part_kind="charger")
    assert arrival_on_loan(loan) is None and said_lines(None) == {}
    assert asked_of_student(line, ShortfallKind.MISSING, 1) == 1
