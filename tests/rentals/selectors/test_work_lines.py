"""What the day's work is made of."""

import pytest

from rentals.selectors.work_lines import WorkGroup, WorkLine

pytestmark = pytest.mark.any_database


def test_a_group_counts_what_it_does_not_show():
    line = WorkLine("Pack", "", "/", "Pack")
    assert WorkGroup("To pack", [line], 5).more == 4
