"""The filters of a record."""

from dataclasses import replace

import numpy as np
import pytest

from readiness.signal.leads.filters import ABRUPT_HZ, abrupt_from_hz, comb
from readiness.signal.spectrum.mains import find_mains
from tests.readiness.signal.made import RATE, quiet

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize(("rate", "hz"), [(100, 40), (375, 60), (4096, 80)])
def test_abrupt_events_are_looked_for_above_movement(rate, hz):
    assert abrupt_from_hz(rate) == pytest.approx(hz)
    assert ABRUPT_HZ == (40.0, 80.0)


def test_the_comb_takes_every_harmonic_and_steady_change_out():
    mains = replace(find_mains(quiet(np.random.default_rng(2)), RATE), frequency_hz=50.0)
    count = round(10 * RATE)
    response = comb(count, RATE, mains)
    hz = np.arange(len(response)) * RATE / count
    assert response[hz % 50.0 == 0.0] == pytest.approx(0.0, abs=1e-9)
    assert response[hz % 50.0 == 25.0] == pytest.approx(2.0, abs=1e-9)
