"""The bench judged by its check kit, from figures alone."""

from types import SimpleNamespace

import pytest

from readiness.judgement.bench_day import LEARNT_FROM, judge_day
from readiness.states import BenchDayState
from rentals.codes import make_code

CHECK_KIT = SimpleNamespace(code=make_code("K", 14))
EARLIER = [0.50, 0.52, 0.49, 0.51, 0.50, 0.48, 0.52, 0.50]


def test_a_day_without_the_check_kit_is_untested():
    assert judge_day(CHECK_KIT, None, EARLIER).state == BenchDayState.UNTESTED


@pytest.mark.parametrize(("known", "words"), [(0, "8 more bench days"), (7, "1 more bench day.")])
def test_limits_are_learnt_from_eight_days(known, words):
    day = judge_day(CHECK_KIT, 0.5, EARLIER[:known])
    assert (day.state, day.value_uv, day.low_uv) == (BenchDayState.LEARNING, 0.5, None)
    assert words in day.sentence
    assert len(EARLIER) == LEARNT_FROM


@pytest.mark.parametrize(
    ("value", "state"),
    [
        (0.50, BenchDayState.IN_CONTROL),
        (0.70, BenchDayState.SUSPECT),
        (0.30, BenchDayState.SUSPECT),
    ],
)
def test_a_value_is_judged_by_the_days_before(value, state):
    day = judge_day(CHECK_KIT, value, EARLIER)
    assert day.state == state
    assert 0 <= day.low_uv < 0.5 < day.high_uv
    assert f"{value:.2f} µV against" in day.sentence
