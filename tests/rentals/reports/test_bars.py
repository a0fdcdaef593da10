"""The chart of a report: bars to scale, intervals as strokes, nothing where nothing is."""

import re

import pytest

from rentals.reports.bars import MOST_BARS, WIDTH, BarFact, bar_chart

pytestmark = pytest.mark.any_database


def _width(box: str) -> float:
    return float(re.search(r"h([\d.]+)v", box).group(1))


def test_bars_are_to_scale_and_the_interval_fits_the_drawing() -> None:
    facts = [BarFact("Lead set", 0.2, "2 of 10", (0.05, 0.5)), BarFact("Band", 0.1, "1 of 10")]
    chart = bar_chart("Short", "How to read it.", facts)
    widths = [_width(bar.box) for bar in chart.bars]
    assert widths[0] == pytest.approx(2 * widths[1], abs=0.1)
    right = float(re.search(r"H([\d.]+)M", chart.bars[0].stroke).group(1))
    assert right == pytest.approx(2.5 * widths[0], abs=0.2)
    assert right < WIDTH
    assert chart.bars[1].stroke == ""
    assert chart.words == "Lead set: 2 of 10; Band: 1 of 10"
    assert chart.caption == "Longest is Lead set: 2 of 10. How to read it."
    assert chart.foot == f"M0.5 0V{chart.height}"


def test_a_long_list_is_cut_and_says_so() -> None:
    facts = [BarFact(f"Run {number} " + "x" * 40, number, str(number)) for number in range(20)]
    chart = bar_chart("Loans", "By run.", facts)
    assert len(chart.bars) == MOST_BARS
    assert chart.caption.endswith(f"Drawn are the first {MOST_BARS} lines of the table.")
    assert chart.bars[0].name.endswith("…")


def test_where_all_is_nothing_nothing_is_drawn() -> None:
    assert bar_chart("Short", "", []) is None
    assert bar_chart("Short", "", [BarFact("Band", 0.0, "0")]) is None
