"""The second post shows by the noise of its resistor; without it a ground proves nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from readiness.signal.kit import kit_verdict
from readiness.signal.post import wrong_post
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import draw_setup, simulate
from tests.readiness.signal.made import model_capture, results

pytestmark = pytest.mark.any_database
PLAN = ("still", "flex", "lift", "ground")


@pytest.mark.parametrize("noise_nv", [20.0, 50.0, 70.0])
@pytest.mark.parametrize("test", ["still", "flex"])
def test_a_capture_of_the_ordinary_post_offered_as_ground_is_told(noise_nv, test):
    kit = results(noise_density_nv=noise_nv)
    offered = replace(model_capture(test, seed=9, noise_density_nv=noise_nv), test="ground")
    judged = kit_verdict({**kit, "ground": score_capture(offered)}, PLAN)
    assert judged.verdict == "retest"
    assert "wrong_post" in {item.code for item in judged.findings}


def test_a_ground_on_the_second_post_is_believed():
    rng = np.random.default_rng(5)
    for _ in range(12):
        setup = draw_setup(rng)
        made = {
            test: score_capture(simulate(test, setup, (), rng).capture)
            for test in ("still", "ground")
        }
        codes = {item.code for result in made.values() for item in result.findings}
        assert wrong_post(made) is None and "wrong_post" not in codes


def test_without_a_still_nothing_is_compared():
    ground = score_capture(model_capture("ground", seed=4))
    assert wrong_post({"ground": ground}) is None and wrong_post({}) is None
