"""The figure of a plan's speed is measured, and says of what."""

import pytest

from kitdesk.assigning_speed import plan_ratio

pytestmark = pytest.mark.any_database


def test_a_small_plan_is_measured_beside_the_solver() -> None:
    ratio = plan_ratio(students=24, kits=20)
    assert ratio.value >= 1
    assert "24 students, 20 kits, 20 runs, proven" in ratio.detail
