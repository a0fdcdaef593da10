"""A notch at the mains takes the noise along; a line that is merely absent does not."""

import numpy as np
import pytest

from readiness.signal.spectrum.notch import SURE_NOTCH, notch_hz
from tests.readiness.signal.made import quiet
from tests.readiness.signal.spoiled import spoil

pytestmark = pytest.mark.any_database


def test_a_notch_is_told_by_the_noise_it_takes_along():
    odds = {50.0: SURE_NOTCH, 60.0: SURE_NOTCH}
    t = np.arange(10_000) / 1000.0
    for seed in range(8):
        x = quiet(np.random.default_rng(seed), 1.0, 1000.0)
        assert notch_hz(x, 1000.0, odds) is None
        assert notch_hz(x + 20 * np.sin(2 * np.pi * 50 * t), 1000.0, odds) is None
        assert notch_hz(spoil("notch", x, 1000.0), 1000.0, odds) == 50.0
