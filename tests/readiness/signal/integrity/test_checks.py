"""Sound traces that must not be taken for broken ones, and which check speaks first."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.integrity.checks import check_integrity
from readiness.signal.simulator.captures import draw_setup, simulate

from .traces import STEP, codes_of, noise


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("test", ["still", "flex", "worn"])
def test_a_sound_kit_of_the_bench_model_has_no_note_but_rails_while_moved(seed, test):
    setup = draw_setup(np.random.default_rng(seed))
    notes = check_integrity(simulate(test, setup).capture)
    assert {note.code for note in notes} <= ({"clipped"} if test == "worn" else set())


@pytest.mark.parametrize("resolution", [None, STEP])
@pytest.mark.parametrize("full_scale", [None, (-1000.0, 1000.0)])
def test_sound_noise_has_no_note(resolution, full_scale):
    assert codes_of(noise(), resolution=resolution, full_scale=full_scale) == []


@pytest.mark.parametrize(
    ("value", "full_scale"),
    [(1000.0, (-1000.0, 1000.0)), (-1000.0, (-1000.0, 1000.0)), (2e5, None)],
)
def test_a_trace_that_stands_still_at_its_stop_is_saturated(value, full_scale):
    assert codes_of(np.full(10_000, value), full_scale=full_scale) == ["saturated"]


def test_an_empty_channel_is_no_crash():
    assert codes_of(np.zeros(0)) == ["dead_channel"]
