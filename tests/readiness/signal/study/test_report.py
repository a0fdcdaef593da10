"""A small study as text and as JSON."""

from __future__ import annotations

import json

import pytest
from django.core.management import call_command

from readiness.signal.statistics.shares import Share
from readiness.signal.study import curves, report
from readiness.signal.study.cohort import (
    DECK,
    PLANS,
    SOUND,
    Case,
    score_kit,
)
from readiness.signal.study.tally import tally


@pytest.mark.night
def test_a_small_study_runs_through_the_scorer_and_prints_every_part(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    wanted = (
        SOUND,
        Case("dead_channel"),
        Case("leads_shorted"),
        Case("open_lead", "A"),
        Case("battery_low"),
    )
    kits = [score_kit(DECK.index(case), seed=3) for case in wanted]
    figures = tally(kits)
    assert figures["captures"] == 25
    rows = {row["case"]: row for row in figures["plans"]["still+flex+lift"]}
    assert rows["sound"]["fit"] == rows["battery_low"]["not fit"] == Share(1, 1)
    assert all(row["fit"] == Share(0, 1) for name, row in rows.items() if name != "sound")
    for module in (curves, report):
        monkeypatch.setattr(module, "DURATIONS_S", (0.002, 0.1))
    monkeypatch.setattr(curves, "NOISE_TIMES", (1.0, 1.5))
    monkeypatch.setattr(curves, "LEAK_KOHM", (1.0,))
    text = report.report(
        figures, curves.open_curve(2, 2), curves.noise_curve(2, 2), curves.leak_curve(2, 2)
    )
    for words in (
        "judged on with ground",
        "`worn` alone",
        "cannot be seen here",
        "chi-square power",
        "ground ground",
        "Leads whose insulation leaks",
        "honest flex sent back",
        "still offered as flex not passed, high-pass up to 10 Hz",
    ):
        assert words in text
    assert report.miss_lines(kits) == []


def test_the_command_prints_json_and_single_kits(capsys: pytest.CaptureFixture[str]) -> None:
    call_command("study", captures=10, seed=4, workers=1, curves=0, json=True)
    figures = json.loads(capsys.readouterr().out)
    assert figures["kits"] == 2
    assert set(figures["plans"]) == set(PLANS)
    call_command("study", kit=12, seed=4)
    assert capsys.readouterr().out.startswith("kit 12: ")
