"""The bench on one day, judged by its check kit: in control, suspect, or not known yet. Looks up no
rows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from readiness.judgement.drift import individuals
from readiness.states import BenchDayState
from rentals.codes import grouped
from rentals.counts import counted

if TYPE_CHECKING:
    from rentals.models import Kit

LEARNT_FROM = 8
"""So many earlier captures make control limits (common practice: the fewest that a moving range
says anything with).
"""
LOOKED_BACK = 25


@dataclass(frozen=True)
class BenchDay:
    """What the check kit says of a day.

    `value_uv` is its last noise floor of that day, `low_uv` and `high_uv` its control limits, all
    microvolts RMS.
    """

    kit: Kit
    state: BenchDayState
    sentence: str
    value_uv: float | None = None
    low_uv: float | None = None
    high_uv: float | None = None


def judge_day(check_kit: Kit, value_uv: float | None, earlier_uv: Sequence[float]) -> BenchDay:
    """The bench on a day, from the check kit's last noise floor of that day and those of the days
    before, oldest first, microvolts RMS.
    """
    name = f"The check kit {grouped(check_kit.code)}"
    if value_uv is None:
        sentence = f"{name} was not tested that day: record still with it first."
        return BenchDay(check_kit, BenchDayState.UNTESTED, sentence)
    lacking = LEARNT_FROM - len(earlier_uv)
    if lacking > 0:
        days = counted(lacking, "more bench day", "more bench days")
        sentence = f"{name} is still learning its limits: {days}."
        return BenchDay(check_kit, BenchDayState.LEARNING, sentence, value_uv)
    chart = individuals(earlier_uv)
    low, high = max(0.0, chart.lower), chart.upper
    span = f"{value_uv:.2f} µV against {low:.2f} to {high:.2f} µV"
    if low <= value_uv <= high:
        state = BenchDayState.IN_CONTROL
        sentence = f"{name} is within its own limits: {span}."
    else:
        state = BenchDayState.SUSPECT
        sentence = (
            f"{name} is outside its own limits ({span}): the bench is suspect, failures of that day"
            " are to be repeated."
        )
    return BenchDay(check_kit, state, sentence, value_uv, low, high)
