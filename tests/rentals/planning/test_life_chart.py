"""The chart of lead sets that outlast so many loans."""

import pytest

from rentals.planning.life_chart import BOTTOM, HEIGHT, LEFT, RIGHT, TOP, WIDTH, life_chart
from rentals.planning.survival import Lifetime, SurvivalCurve

pytestmark = pytest.mark.any_database


def test_the_line_falls_in_steps_and_each_set_in_use_has_its_tick():
    lives = [Lifetime(2), Lifetime(4, ended=False), Lifetime(4, ended=False), Lifetime(10)]
    chart = life_chart(SurvivalCurve(lives))
    floor, ceiling = HEIGHT - BOTTOM, TOP
    at_two = LEFT + 0.2 * (WIDTH - LEFT - RIGHT)
    three_quarters = floor - 0.75 * (floor - ceiling)
    assert chart.line.startswith(f"M{LEFT:.1f} {ceiling:.1f}L{at_two:.1f} {ceiling:.1f}L")
    assert f"L{at_two:.1f} {three_quarters:.1f}L" in chart.line
    assert chart.line.endswith(f"{WIDTH - RIGHT:.1f} {floor:.1f}")
    assert chart.ticks.count("M") == 1
    assert chart.band.endswith("Z")
    assert chart.words == "after 2 loans 75 %; after 10 loans 0 %"
    assert [mark.words for mark in chart.across] == ["0", "2", "4", "6", "8", "10"]


def test_a_curve_without_an_end_says_so():
    chart = life_chart(SurvivalCurve([Lifetime(0, ended=False)]))
    assert chart.words == "No set has ended within 0 loans"
    assert [mark.words for mark in chart.across] == ["0", "1"]
