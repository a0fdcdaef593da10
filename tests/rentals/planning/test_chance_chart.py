import numpy as np
import pytest

from rentals.planning.chance_chart import HEIGHT, MOST_BARS, chance_chart
from rentals.planning.ready_count import count_law
from rentals.planning.run_chance import RunChance

pytestmark = pytest.mark.any_database


def chart_of(need, chances):
    return chance_chart(RunChance(need, 0, tuple(count_law(np.array(chances))), ()))


def test_a_bar_a_number_as_high_as_its_chance():
    chart = chart_of(2, [0.5, 0.8])
    assert [(bar.number, bar.short, bar.needed) for bar in chart.bars] == [
        (1, "90", False),
        (2, "40", True),
    ]
    one, two = chart.bars
    assert one.height / two.height == pytest.approx(0.9 / 0.4)
    assert one.y < chart.goal + one.height
    assert chart.words == "1 or more: 90\N{NO-BREAK SPACE}%; 2 or more: 40\N{NO-BREAK SPACE}%"


@pytest.mark.parametrize("need", [1, 20, 40, 70])
def test_no_more_bars_than_a_phone_shows_and_the_needed_one_among_them(need):
    chart = chart_of(need, [0.5] * 60)
    assert len(chart.bars) <= MOST_BARS
    assert [bar.number for bar in chart.bars if bar.needed] == [need]
    for bar in chart.bars:
        assert chart.left <= bar.x
        assert bar.x + bar.width <= chart.right
        assert 0 < float(bar.above) < HEIGHT
        assert bar.box.startswith(f"M{bar.x:.1f} {bar.y:.1f}h")
