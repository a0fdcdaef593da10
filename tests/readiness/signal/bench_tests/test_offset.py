"""A large constant offset is told as that, and what varies is judged all the same."""

import numpy as np
import pytest

from readiness.signal.bench_tests.offset import offset_finding, offset_words
from readiness.signal.bench_tests.view import View
from readiness.signal.limits import Limits
from readiness.signal.score import score_capture
from tests.readiness.signal.made import capture_of, quiet

pytestmark = pytest.mark.any_database


def resting_at(offset_uv: float, uv: float = 1.0, **more):
    return capture_of(offset_uv + quiet(np.random.default_rng(4), uv), "still", **more)


@pytest.mark.parametrize(
    ("offset_uv", "full_scale", "words"),
    [
        (200e3, (-400e3, 400e3), "200 mV lies under the trace, 50 % of the way to the end"),
        (-60e3, (-80e3, 100e3), "-60 mV lies under the trace, 75 % of the way to the end"),
        (1650e3, None, "1650 mV lies under the trace, whose range the file does not state"),
    ],
)
def test_an_offset_is_told_beside_the_range(offset_uv, full_scale, words):
    view = View(resting_at(offset_uv, full_scale=full_scale), Limits(), "still")
    assert words in offset_words(view, offset_uv)
    assert offset_finding(view, offset_uv).verdict == "retest"


@pytest.mark.parametrize("offset_uv", [30e3, -200e3, 1650e3])
def test_what_varies_is_judged_without_the_offset(offset_uv):
    plain, off = score_capture(resting_at(0.0)), score_capture(resting_at(offset_uv))
    assert (plain.verdict, off.verdict) == ("fit", "retest")
    assert off.scores.noise == plain.scores.noise == 100.0
    (found,) = off.findings
    assert "constant offset" in found.text and "export the signal without it" in found.action
    loud = score_capture(resting_at(offset_uv, 6.0))
    assert {item.code for item in loud.findings} == {"open_lead", "excess_noise"}
    assert loud.verdict == "not fit"


def test_an_offset_at_the_end_of_the_range_is_clipping():
    result = score_capture(resting_at(196e3, full_scale=(-200e3, 200e3)))
    assert [item.code for item in result.findings] == ["clipped"]
