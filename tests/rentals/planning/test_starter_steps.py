"""The ready steps after a return."""

import pytest

from rentals.models import PartKind
from rentals.planning.starter_steps import STARTER_STEPS
from rentals.states import StepKind

pytestmark = pytest.mark.any_database


def test_each_ready_step_is_of_a_known_sort_and_kind_and_all_sorts_are_there():
    assert {step.kind for step in STARTER_STEPS} == set(StepKind)
    assert {step.part_kind for step in STARTER_STEPS} <= {"", *PartKind}
    assert all(step.words.endswith(".") for step in STARTER_STEPS)
