"""What is said of a step that is not ticked."""

import pytest

from rentals.models import LoanStep
from rentals.selectors.return_steps import lack_of_step

pytestmark = pytest.mark.any_database


def test_a_step_that_is_not_ticked_is_said_as_a_sentence():
    assert lack_of_step(LoanStep(words="Air the box.")) == "Air the box: to be done, then ticked."
