"""How far a student has come in the help by symptom."""

import pytest

from rentals.actions.guide import answer_step, begin_help
from rentals.models import LeftOutStep, OwnStep
from rentals.selectors.guide import past_visits, symptom_rows, tree_of, visit_page
from tests.rentals.guide import NO, YES, lent

pytestmark = pytest.mark.django_db


def test_the_owners_changes_are_in_the_tree_and_a_visit_goes_on_through_it():
    visit = answer_step(begin_help(lent(), "flat"), "switched_on", NO)
    LeftOutStep.objects.create(symptom="flat", step="program_sees")
    own = OwnStep.objects.create(symptom="flat", title="Call", to_try="Call us.")
    assert own.key in tree_of("flat").steps and own.key not in tree_of("hum").steps
    assert visit_page(visit).step.key == "cells_way"


def test_symptoms_show_what_is_begun_and_what_ended():
    loan = lent()
    open_visit = begin_help(loan, "hum")
    solved = answer_step(begin_help(loan, "flat"), "switched_on", YES)
    begun = {row.symptom: row.open_visit for row in symptom_rows(loan)}
    assert begun["hum"] == open_visit and begun["flat"] is None
    assert past_visits(loan) == [(solved, "The trace is flat", None)]
