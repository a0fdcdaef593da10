"""What is asked of a capture and its preloaded verdict."""

from __future__ import annotations

import pytest

from readiness.models import Capture, Verdict
from readiness.selectors.rounds import lacks_battery


@pytest.mark.parametrize(
    ("verdicts", "lacks"),
    [
        ([], False),
        ([Verdict(battery=None, battery_v=None)], True),
        ([Verdict(battery=0.0, battery_v=1.9)], False),
    ],
)
def test_a_capture_lacks_a_battery_reading_once_it_is_judged_without_one(
    verdicts: list[Verdict], lacks: bool
) -> None:
    capture = Capture()
    capture.current_verdicts = verdicts
    assert lacks_battery(capture) is lacks
