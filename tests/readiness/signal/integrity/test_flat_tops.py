"""Tops cut off on one side below the range are seen with coarse steps too; hum and slant are not
taken for them.
"""

import numpy as np
import pytest

from readiness.signal.integrity.flat_tops import check_flat_tops
from readiness.signal.score import score_capture
from tests.readiness.signal.made import RATE, capture_of, codes, quiet

pytestmark = pytest.mark.any_database


def noted(x):
    capture = capture_of(x, "still")
    return [note.code for note in check_flat_tops(x, capture.emg)]


@pytest.mark.parametrize("step", [0.05, 0.4, 1.0])
@pytest.mark.parametrize("sign", [-1.0, 1.0])
@pytest.mark.parametrize("level", [0.7, 1.6])
def test_tops_cut_off_on_one_side_are_clipped(step, sign, level):
    x = np.minimum(quiet(np.random.default_rng(1)), level)
    x = sign * np.rint(x / step) * step + 3 * step
    assert noted(x) == ["clipped"]
    found = score_capture(capture_of(x, "still", resolution=step))
    assert ("clipped", None) in codes(found)
    assert found.verdict == "not fit"


@pytest.mark.parametrize("step", [0.02, 0.3, 1.5])
def test_whole_noise_hum_and_a_slanting_trace_are_not(step):
    rng = np.random.default_rng(2)
    times = np.arange(10 * int(RATE)) / RATE
    hum = np.sin(2 * np.pi * 50 * times) + 0.3 * np.sin(4 * np.pi * 50 * times + 1)
    for x in (quiet(rng), quiet(rng) + 8 * hum, quiet(rng) + rng.exponential(1.5, len(times))):
        assert noted(np.rint((x + 0.37 * step) / step) * step) == []
