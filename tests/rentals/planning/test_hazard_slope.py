import numpy as np
import pytest

from rentals.planning.hazard_slope import hazard_slope

pytestmark = pytest.mark.any_database


def test_a_slope_is_found_again_with_its_error():
    rng = np.random.default_rng(5)
    number = rng.uniform(-1, 1, 600)
    ends = rng.exponential(np.exp(-0.8 * number))
    found = hazard_slope(np.minimum(ends, 1.5), ends < 1.5, number)
    assert found.slope == pytest.approx(0.8, abs=2.5 * found.error)
    assert found.error < 0.1
    assert found.chi_square > 50


def test_what_nothing_tells_has_no_slope():
    assert hazard_slope([1, 2, 3], [True, True, False], [4, 4, 4]).chi_square == 0
    assert hazard_slope([1, 2], [False, False], [0, 1]).slope == 0


def test_parted_groups_end_at_a_wide_slope_and_not_at_infinity():
    found = hazard_slope([1, 2, 3, 7, 8, 9], [True] * 6, [1, 1, 1, 0, 0, 0])
    assert 1 < found.slope <= 3


def test_what_differs_by_kind_only_is_no_slope_within_the_kinds():
    times, number, kinds = [1, 2, 1, 2, 8, 9, 8, 9], [1, 1, 2, 2, 7, 7, 8, 8], [0] * 4 + [1] * 4
    assert hazard_slope(times, [True] * 8, number).chi_square > 3
    assert hazard_slope(times, [True] * 8, number, kinds).chi_square == pytest.approx(0, abs=1e-9)
