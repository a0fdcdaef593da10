"""`manage.py speed` prints every figure beside its goal and fails when one is missed."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from kitdesk import assigning_speed, rescore_speed
from readiness.signal.study import speed as capture_speed
from rentals.paper import speed as paper_speed


def run(monkeypatch, value: float) -> str:
    for name in ("csv_ratio", "edf_ratio", "start_up"):
        ratio = capture_speed.Ratio(name, 0.9, 1.0, "x", "made up")
        monkeypatch.setattr(capture_speed, name, lambda *_args, ratio=ratio: ratio)
    again = capture_speed.Ratio("rescore_ratio", 0.9, 1.0, "x", "made up")
    monkeypatch.setattr(rescore_speed, "rescore_ratio", lambda *_args: again)
    monkeypatch.setattr(
        paper_speed,
        "label_ratio",
        lambda *_args: paper_speed.Figure("labels", value, 1.5, "x", "made up"),
    )
    monkeypatch.setattr(
        paper_speed,
        "run_memory",
        lambda *_args: paper_speed.Figure("memory", 12, 200, "MB", "made up"),
    )
    plan = capture_speed.Ratio("plan_ratio", 5, 10, "x", "made up")
    monkeypatch.setattr(assigning_speed, "plan_ratio", lambda *_args: plan)
    out = StringIO()
    try:
        call_command("speed", stdout=out)
    finally:
        run.printed = out.getvalue()
    return run.printed


def test_each_figure_has_its_line(monkeypatch):
    lines = run(monkeypatch, 1.2).splitlines()
    assert [line.split()[0] for line in lines] == [
        "csv_ratio",
        "edf_ratio",
        "start_up",
        "rescore_ratio",
        "labels",
        "memory",
        "plan_ratio",
    ]
    assert all(": met" in line for line in lines)


def test_a_missed_goal_fails_the_command(monkeypatch):
    with pytest.raises(CommandError, match="1 of 7 goals missed"):
        run(monkeypatch, 1.6)
    assert "<= 1.5 x: MISSED" in run.printed


@pytest.mark.night
def test_the_scratch_desk_scores_for_real():
    ratio = rescore_speed.rescore_ratio(12)
    assert ratio.value > 0
    assert "12 captures" in ratio.detail
