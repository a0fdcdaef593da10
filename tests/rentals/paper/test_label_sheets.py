"""Every kind of label that can be chosen has its drawing."""

import pytest

from rentals.paper.label_sheets import DRAW
from rentals.selectors.labels.kinds import KINDS

pytestmark = pytest.mark.any_database


def test_each_kind_that_can_be_chosen_has_a_drawing_and_no_other_has():
    assert DRAW.keys() == KINDS.keys()
