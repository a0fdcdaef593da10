"""Steps of a telegraph between two levels stand out of noise that hides each sample of them."""

import numpy as np
import pytest

from readiness.signal.bench_tests.view import View
from readiness.signal.leads.steps import steps_of
from readiness.signal.limits import Limits
from tests.readiness.signal.made import capture_of, quiet

pytestmark = pytest.mark.any_database


def steps(x, rate, hum_uv=0.0):
    return steps_of(View(capture_of(x, "still", rate=rate), Limits(), "still").trace, hum_uv)


@pytest.mark.parametrize("rate", [512.0, 1024.0, 4000.0])
def test_steps_of_six_times_the_noise_are_counted(rate):
    times = np.arange(round(10 * rate)) / rate
    levels = 6.0 * (np.searchsorted([2.1, 3.0, 5.5, 7.9], times) % 2)
    noise = quiet(np.random.default_rng(3), rate=rate)
    found = steps(noise + levels, rate)
    assert 2 <= found.count <= 4
    assert found.highest_uv == pytest.approx(6.0, rel=0.5)
    assert steps(noise + levels, rate, hum_uv=40.0).count == 0


@pytest.mark.parametrize("seed", range(5))
def test_noise_alone_has_none(seed):
    assert steps(quiet(np.random.default_rng(seed)), 1024.0).count == 0
