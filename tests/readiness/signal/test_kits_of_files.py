"""Kits judged from the files of one run of the command."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from readiness.signal.command import main
from readiness.signal.kits_of_files import judge_kits, kit_in_words, kit_to_json
from readiness.signal.result import Report
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import Fault

from .made import model_capture

pytestmark = pytest.mark.any_database


def report(kit: str | None, test: str, *faults: Fault, taken: datetime | None = None) -> Report:
    capture = replace(model_capture(test, *faults, seed=3), kit=kit, taken=taken)
    return Report(f"{test}.csv", True, None, "", capture, score_capture(capture))


def test_a_kit_is_judged_on_its_files_together():
    of_kit = [report("K1", test) for test in ("still", "flex", "lift")]
    refused = Report("b.csv", False, "No rate.", "rate", None, None)
    ((kit, verdict),) = judge_kits([*of_kit, report(None, "still"), refused])
    said = kit_to_json(kit, verdict)
    assert list(said) == ["kit", "verdict", "proven", "scores", "findings", "lacking"]
    assert (said["kit"], said["verdict"], said["lacking"]) == ("K1", "fit", [])
    assert said["proven"] == {"A": True, "B": True, "ground": True}
    assert set(said["scores"]) == {"continuity", "noise", "battery"}
    json.dumps(said, allow_nan=False)


def test_the_later_of_two_captures_counts_and_what_lacks_is_named():
    morning = datetime(2026, 3, 2, 9, tzinfo=UTC)
    noon = datetime(2026, 3, 2, 12)
    loud = Fault("excess_noise", 20.0)
    reports = [
        report("K1", "still", taken=noon),
        report("k1 ", "still", loud, taken=morning),
        report("K2", "still", loud),
    ]
    first, second = judge_kits(reports)
    assert (first[0], first[1].verdict, first[1].missing) == ("K1", "retest", ("flex", "lift"))
    assert (second[0], second[1].verdict) == ("K2", "not fit")
    words = kit_in_words(*second)
    assert "kit K2: NOT FIT (leads proven: none)" in words
    assert "tests that lack: flex, lift" in words and "  -> " in words


def test_the_command_writes_kits_after_the_captures_and_says_so_by_its_status(capsys):
    name = "fixtures/captures/sound still.edf"
    assert main([name, "--json"]) == 0
    assert main([name, "--json", "--kits"]) == 1
    *_, capture, kit = map(json.loads, capsys.readouterr().out.splitlines())
    assert capture["verdict"] == "fit"
    assert kit["lacking"] == ["flex", "lift"]
    assert kit["verdict"] == "retest"
    assert main([name, "--kits"]) == 1
    assert f"kit {kit['kit']}: RETEST" in capsys.readouterr().out
