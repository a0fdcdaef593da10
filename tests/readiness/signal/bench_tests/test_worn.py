"""Worn: muscle proves the two active leads together, and nothing else."""

import numpy as np
import pytest

from readiness.signal.bench_tests.view import View
from readiness.signal.bench_tests.worn import judge
from readiness.signal.limits import Limits
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import Fault
from tests.readiness.signal.made import capture_of, codes, model_capture, quiet

T = np.arange(10240) / 1024
CLENCHED = T > 5.25


def worn(rest_uv: float, work_uv: float, hum_uv: float = 0.0, **facts):
    x = quiet(np.random.default_rng(1)) * np.where(CLENCHED, work_uv, rest_uv)
    x = np.clip(x + hum_uv * np.sqrt(2) * np.sin(2 * np.pi * 50 * T), -5000, 5000)
    return judge(View(capture_of(x, "worn", **facts), Limits(), "worn"))


def test_a_clenched_fist_proves_both_active_leads_and_never_the_ground():
    judged = worn(5, 100)
    assert (judged.proven, judged.continuity) == (("A", "B"), 100.0)
    [weaker] = judged.findings
    assert (weaker.code, weaker.lead, weaker.verdict) == ("lead_unproven", "ground", "note")
    ratio = next(row for row in judged.measurements if row.name == "response_ratio")
    assert ratio.value == pytest.approx(20, rel=0.1)
    assert ratio.limit == 3.0


@pytest.mark.parametrize(
    ("made", "code", "verdict", "continuity"),
    [
        ({"rest_uv": 5, "work_uv": 8}, "lead_unproven", "retest", None),
        ({"rest_uv": 1, "work_uv": 1}, "lead_unproven", "retest", None),
        ({"rest_uv": 0.02, "work_uv": 0.02}, "dead_channel", "not fit", 0.0),
        ({"rest_uv": 5, "work_uv": 5, "hum_uv": 2500}, "open_lead", "retest", None),
        (
            {"rest_uv": 5, "work_uv": 100, "hum_uv": 9000, "full_scale": (-5000.0, 5000.0)},
            "open_lead",
            "retest",
            None,
        ),
    ],
)
def test_what_does_not_respond_is_named(made, code, verdict, continuity):
    judged = worn(**made)
    first = judged.findings[0]
    assert (first.code, first.verdict) == (code, verdict)
    assert (judged.proven, judged.continuity) == ((), continuity)


@pytest.mark.parametrize("rest_uv", [0.3, 0.8, 1.6, 3.0])
@pytest.mark.parametrize("heart_uv", [0.0, 300.0])
def test_a_muscle_that_is_not_clenched_is_no_fault_of_the_kit(rest_uv, heart_uv):
    hands = {"rest_uv": rest_uv, "effort_uv": 0.2, "heart_uv": heart_uv}
    result = score_capture(model_capture("worn", seed=4, **hands))
    assert result.verdict == "retest"
    assert codes(result) == {("lead_unproven", None)}


def test_leads_that_touch_are_not_passed():
    result = score_capture(model_capture("worn", Fault("leads_shorted", 0.01, "A+B"), seed=4))
    assert result.verdict == "retest"
    assert result.proven == ()
    (item,) = [item for item in result.findings if item.verdict == "retest"]
    assert "the fists were not clenched, or the leads touch" in item.text
