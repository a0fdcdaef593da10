"""A lead whose strands part but for some kilohms."""

import numpy as np
import pytest

from readiness.signal.simulator.sources import Clock
from readiness.signal.simulator.weak_contact import behind, bent_kohm

pytestmark = pytest.mark.any_database

CLOCK = Clock(2000.0, 4, 1.0, 10.2)


def test_a_bend_reaches_its_highest_resistance_and_leaves_nothing_behind():
    kohm = bent_kohm(CLOCK, [(3.0, 3.8, 400.0)], np.random.default_rng(1))
    bent = (CLOCK.t >= 3.0) & (CLOCK.t < 3.8)
    assert kohm.max() == pytest.approx(400.0)
    assert kohm[(CLOCK.t < 2.999) | (CLOCK.t > 3.85)].max() == pytest.approx(0.0, abs=1e-6)
    assert np.median(kohm[bent]) > 400.0 / 3.1


def test_a_current_behind_the_bend_gives_its_ohms_and_the_noise_is_thermal():
    kohm = np.full(CLOCK.size, 100.0)
    x = behind(
        CLOCK, np.zeros(CLOCK.size), kohm, 2.0, (300.0, 1.0), 298.15, np.random.default_rng(2)
    )
    assert x.mean() == pytest.approx(200.0, rel=1e-3)
    # 4 k T R over half the grid's rate: 40.6 nV per root hertz, 2.57 uV over 4 kHz.
    assert x.std() == pytest.approx(40.6e-3 * np.sqrt(4000.0), rel=0.03)


def test_a_megohm_before_the_input_is_a_divider_with_a_low_pass():
    source, kohm = np.full(CLOCK.size, 1000.0), np.full(CLOCK.size, 1000.0)
    x = behind(CLOCK, source, kohm, 0.0, (9.0, 1000.0), 1e-9, np.random.default_rng(3))
    assert x[-1] == pytest.approx(900.0, rel=1e-6)
    source[:4000] = 0.0
    x = behind(CLOCK, source, kohm, 0.0, (9.0, 1000.0), 1e-9, np.random.default_rng(3))
    # R C is a millisecond: eight points of the grid, of which 1/e are left.
    assert 900.0 - x[4007] == pytest.approx(900.0 / np.e, rel=1e-6)
