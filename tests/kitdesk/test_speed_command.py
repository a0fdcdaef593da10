"""`manage.py speed` prints every figure beside its goal and fails when one is missed."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from kitdesk import assigning_speed
from kitdesk.management.commands import speed as command
from kitdesk.scratch import rescoring
from kitdesk.scratch.drop import DropSpeed
from kitdesk.scratch.workers import WorkersSpeed
from readiness.signal.study import speed as capture_speed
from rentals.paper import speed as paper_speed


def run(monkeypatch, value: float) -> str:
    for name in ("csv_ratio", "edf_ratio", "start_up"):
        ratio = capture_speed.Ratio(name, 0.9, 1.0, "x", "made up")
        monkeypatch.setattr(capture_speed, name, lambda *_args, ratio=ratio: ratio)
    short = tuple(
        capture_speed.Ratio(f"short_{kind}", 0.9, 1.0, "x", "made up") for kind in ("csv", "edf")
    )
    monkeypatch.setattr(capture_speed, "short_ratios", lambda *_args: short)
    again = capture_speed.Ratio("rescore_ratio", 0.9, 1.0, "x", "made up")
    monkeypatch.setattr(rescoring, "rescore_ratio", lambda *_args: again)
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
        "short_csv",
        "short_edf",
        "start_up",
        "rescore_ratio",
        "labels",
        "memory",
        "plan_ratio",
    ]
    assert all(": met" in line for line in lines)


def test_a_missed_goal_fails_the_command(monkeypatch):
    with pytest.raises(CommandError, match="1 of 9 goals missed"):
        run(monkeypatch, 1.6)
    assert "<= 1.5 x: MISSED" in run.printed


def said(**options) -> str:
    """What the command says with these words, and at the end what it complains of."""
    out = StringIO()
    try:
        call_command("speed", stdout=out, **options)
    except CommandError as problem:
        out.write(str(problem))
    return out.getvalue()


def test_workers_are_measured_by_turns_and_after_them_rescoring(monkeypatch):
    asked = []

    def measured(*numbers):
        asked.append(numbers)
        return WorkersSpeed(20, 38, [[20.0], [38.0]], 180, 50.0, 15.0, "load 0.1", False, "SQLite")

    again = capture_speed.Ratio("rescore", 1.7, 1.8, "x", "made up", at_least=True)
    monkeypatch.setattr(command, "workers_speed", measured)
    monkeypatch.setattr(rescoring, "rescore_ratio", lambda *numbers: asked.append(numbers) or again)
    lines = said(workers=True).splitlines()
    assert asked == [(180, 2), (720, 2)]
    assert "goal >= 1.8 x: met" in lines[2] and "goal >= 1.8 x: MISSED" in lines[4]
    assert lines[-1] == "The goal is missed."


def test_a_drop_is_measured_and_what_fails_is_said(monkeypatch):
    met = DropSpeed(400, 0.2, 90, 0.15, 0.12, 1, "load 0.1", False, "SQLite")
    monkeypatch.setattr(command, "drop_speed", lambda files: met)
    assert "drop of 400 files" in said(drop=400) and "missed" not in said(drop=400)

    def broken(files):
        raise RuntimeError("There is no room.")

    monkeypatch.setattr(command, "drop_speed", broken)
    assert said(drop=400) == "There is no room."
