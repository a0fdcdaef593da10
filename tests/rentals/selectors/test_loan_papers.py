"""The papers of a loan that can be printed now."""

from dataclasses import replace

import pytest

from rentals.actions.customs import answer_customs
from rentals.models import Loan
from rentals.paper.facts import Address, PracticeFacts
from rentals.selectors.loan_papers import (
    loan_customs,
    loan_fonts_note,
    printable_papers,
    run_fonts_note,
)
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db
HOME = PracticeFacts("Quiet Bow", address=Address("Quiet Bow", "Lane 1", "Town", country="DE"))


def offered(loan: Loan, practice: PracticeFacts) -> list[str]:
    return [paper.what for paper in printable_papers(loan, practice)]


def test_papers_follow_the_loan_and_the_border():
    loan = packed_loan()
    lists = ["Packing list", "Packing list, inside copy"]
    labels = ["Address label", "Return label"]
    assert offered(loan, HOME) == [*lists, *labels]
    assert offered(loan, replace(HOME, address=None)) == [*lists, "Address label"]
    abroad = replace(HOME, address=replace(HOME.address, country="US"))
    statements = ["Contents statement", "Contents statement for the way back"]
    assert offered(loan, abroad) == [*lists, *labels, *statements]
    customs = loan_customs(loan, abroad)
    answer_customs(customs.way.home.key, customs.way.place.key, needed=False)
    assert offered(loan, abroad) == [*lists, *labels]
    nowhere = replace(HOME, address=replace(HOME.address, country="XX"))
    assert loan_customs(loan, nowhere) is None
    loan.stage = "settled"
    [statement] = printable_papers(loan, HOME)[2:]
    assert (statement.what, statement.why) == ("Settling statement", "as settled")


def test_letters_that_no_font_has_are_said_for_a_loan_and_a_run():
    loan = packed_loan()
    assert not loan_fonts_note(loan, HOME).unprintable
    student = loan.enrolment.student
    student.name = "Ada \U000132aa"
    student.save()
    assert loan_fonts_note(loan, HOME).unprintable
    assert run_fonts_note(loan.enrolment.run).unprintable
