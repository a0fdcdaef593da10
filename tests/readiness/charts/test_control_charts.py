"""A part's series drawn with its limits."""

from readiness.charts.control_charts import control_chart
from tests.readiness.judgement.test_drift import drifting


def test_points_out_of_control_are_named_in_the_caption():
    odd = drifting(0.0)
    odd.values[6] = 1.9
    plot = control_chart(odd)
    assert "Out of its own control limits on 1 May 2026." in plot.caption
    assert "plot-point-out" in plot.svg


def test_few_days_have_a_limit_and_no_usual_level():
    few = drifting(0.0)
    few.days[3:], few.values[3:] = [], []
    plot = control_chart(few)
    assert "limit 2.00." in plot.caption
    assert "usual" not in plot.svg
    assert "usual" in control_chart(drifting(0.0)).svg


def test_a_drift_is_told_in_the_caption():
    assert "drifts: it meets 2.00" in control_chart(drifting(0.1)).caption
