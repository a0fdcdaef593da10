"""Worn: muscle proves the two active leads together, and nothing else."""

import numpy as np
import pytest

from readiness.signal.bench_tests.view import View
from readiness.signal.bench_tests.worn import judge
from readiness.signal.limits import Limits
from tests.readiness.signal.made import capture_of, quiet

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
        ({"rest_uv": 1, "work_uv": 1}, "leads_shorted", "not fit", 0.0),
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
