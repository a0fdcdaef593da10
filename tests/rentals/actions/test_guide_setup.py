"""Steps that the owner leaves out of the help by symptom, and steps of their own."""

import pytest

from rentals.actions.guide_setup import leave_out, put_in_again, remove_own_step, save_own_step
from rentals.errors import Refused
from rentals.models import OwnStep
from rentals.selectors.guide import tree_of

pytestmark = pytest.mark.django_db


def test_a_step_is_left_out_and_put_in_again():
    for _ in range(2):
        leave_out("hum", "laptop_battery")
    assert "laptop_battery" not in tree_of("hum").steps
    assert "laptop_battery" in tree_of("high").steps
    put_in_again("hum", "laptop_battery")
    assert "laptop_battery" in tree_of("hum").steps


def test_what_is_there_for_safety_stays_and_nonsense_is_refused():
    for symptom, step, words in (
        ("cells", "cells_look", "not safe"),
        ("hum", "look_leads", "not safe"),
        ("hum", "cells_way", "no such step"),
        ("smoke", "cells_way", "no such step"),
    ):
        with pytest.raises(Refused, match=words):
            leave_out(symptom, step)


def test_an_own_step_is_kept_and_removed():
    with pytest.raises(Refused, match="symptom"):
        save_own_step(OwnStep(symptom="smoke", title="Call", to_try="Call us."))
    step = save_own_step(OwnStep(symptom="hum", title="Call", to_try="Call us."))
    key = step.key
    assert key in tree_of("hum").steps
    remove_own_step(step)
    assert key not in tree_of("hum").steps
