"""The decimals that numbers were written with."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.decimals import written_step


@pytest.mark.parametrize("decimals", range(10))
def test_the_last_decimal_is_found(decimals):
    values = np.round(np.random.default_rng(1).normal(0.0, 10.0, 1000), decimals)
    assert written_step(values) == pytest.approx(10.0**-decimals)


def test_finer_numbers_have_no_step():
    assert written_step(np.random.default_rng(1).normal(0.0, 10.0, 1000)) == 1e-10


def test_samples_that_lack_say_nothing():
    assert written_step(np.array([np.nan, 1.5, np.nan, 2.0])) == 0.1
