"""Medians as numpy gives them, and overlapping pieces without a copy."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.signal.statistics.robust import (
    different,
    median,
    middle_of,
    pieces,
    quantile_in_order,
    read_only,
    row_medians,
    runs,
)

NUMBERS = st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=30)


@given(NUMBERS)
def test_the_median_is_numpy_s(values):
    x = np.array(values)
    assert median(x) == pytest.approx(np.median(x))
    assert row_medians(np.stack([x, -x])) == pytest.approx([np.median(x), np.median(-x)])


@given(NUMBERS, st.floats(0.0, 1.0))
def test_values_in_order_give_numpy_s_quantiles_and_each_value_once(values, share):
    ordered = np.sort(np.round(values))
    assert quantile_in_order(ordered, share) == pytest.approx(np.quantile(ordered, share))
    assert middle_of(ordered) == np.median(ordered)
    assert list(different(ordered)) == list(np.unique(ordered))


@pytest.mark.parametrize("count", [4000, 4001])
def test_the_median_of_many_is_numpy_s(count):
    x = np.random.default_rng(count).normal(size=count)
    assert median(x) == np.median(x)
    x[17] = np.nan
    assert math.isnan(median(x))


def test_no_number_has_no_median():
    assert math.isnan(median(np.array([])))
    assert math.isnan(median(np.array([1.0, np.nan])))
    medians = row_medians(np.array([[1.0, 2.0, 4.0], [1.0, np.nan, 3.0]]))
    assert medians[0] == 2.0 and math.isnan(medians[1])


def test_pieces_overlap_by_their_hop():
    x = read_only(np.arange(10.0))
    assert pieces(x, 4, 3).tolist() == [[0, 1, 2, 3], [3, 4, 5, 6], [6, 7, 8, 9]]
    assert not pieces(x, 4, 3).flags.writeable
    with pytest.raises(ValueError, match="10 samples do not fill a piece of 11"):
        pieces(x, 11, 1)
    with pytest.raises(ValueError, match="read-only"):
        x[0] = 1.0


@pytest.mark.parametrize("shape", [(9,), (9, 3)])
def test_runs_are_numpy_s_sliding_windows(shape):
    values = np.random.default_rng(1).normal(size=shape)
    assert np.array_equal(runs(values, 4), np.lib.stride_tricks.sliding_window_view(values, 4, 0))
    assert not runs(values, 4).flags.writeable
