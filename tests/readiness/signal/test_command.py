"""The JSON contract and the command: what scripts rely on."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from django.core.management import call_command

from readiness.signal.bench_tests.findings import FINDING_KINDS
from readiness.signal.command import in_words, main
from readiness.signal.limits import Limits
from readiness.signal.readers.column_map import ColumnMap, MappedColumn
from readiness.signal.score import score_file

from .made import model_capture, quiet
from .spoiled import spoil

KEYS = [
    "file",
    "readable",
    "refusal",
    "kit",
    "test",
    "rate_hz",
    "duration_s",
    "mains_hz",
    "channels",
    "verdict",
    "scores",
    "findings",
    "measurements",
]


def write_csv(
    path: Path,
    x: np.ndarray,
    test: str,
    rate: float = 1024.0,
    kit: str = "K07",
    battery: str = "2.91",
) -> Path:
    head = (
        f"# kit: {kit}\n# test: {test}\n# rate_hz: {rate:g}\n# unit: uV\n# battery_v:"
        f" {battery}\nemg\n"
    )
    path.write_text(head + "\n".join(f"{value:.4f}" for value in x) + "\n", encoding="utf-8")
    return path


def test_json_contract(tmp_path):
    report = score_file(
        write_csv(tmp_path / "K07-still.csv", quiet(np.random.default_rng(1)), "still")
    ).to_json()
    assert list(report) == KEYS
    json.dumps(report, allow_nan=False)
    assert (report["readable"], report["refusal"], report["kit"], report["test"]) == (
        True,
        None,
        "K07",
        "still",
    )
    assert list(report["scores"]) == ["continuity", "noise", "battery"]
    assert report["scores"]["continuity"] is None
    assert list(report["channels"][0]) == ["label", "role", "unit", "rate_hz", "samples", "first"]
    assert all(
        list(item) == ["name", "value", "unit", "low", "high", "limit"]
        for item in report["measurements"]
    )


def test_json_of_findings(tmp_path):
    path = write_csv(
        tmp_path / "a.csv", quiet(np.random.default_rng(1), 5.0), "still", battery="2.2"
    )
    report = score_file(path).to_json()
    assert report["verdict"] == "not fit"
    for item in report["findings"]:
        assert list(item) == ["code", "aspect", "lead", "verdict", "text", "action"]
        assert item["code"] in FINDING_KINDS
        assert item["verdict"] in ("retest", "not fit", "note")
        assert item["text"]
        assert item["action"]


@pytest.mark.parametrize("content", [b"", b"\x00" * 50, b"PK\x03\x04zip", b"no numbers here\n"])
def test_a_file_that_cannot_be_read_is_an_answer(tmp_path, content):
    path = tmp_path / "bad.csv"
    path.write_bytes(content)
    report = score_file(path).to_json()
    assert (report["readable"], report["verdict"]) == (False, None)
    assert report["refusal"].endswith((".", "?"))
    assert list(report) == KEYS


def test_a_missing_file_is_an_answer(tmp_path):
    report = score_file(tmp_path / "none.csv")
    assert not report.readable
    assert "none.csv is not a file" in report.refusal


def test_exit_status(tmp_path, capsys):
    fit = write_csv(tmp_path / "fit.csv", quiet(np.random.default_rng(1)), "still")
    loud = write_csv(tmp_path / "loud.csv", quiet(np.random.default_rng(1), 6.0), "still")
    bad = tmp_path / "bad.csv"
    bad.write_bytes(b"")
    assert main([str(fit)]) == 0
    assert main([str(fit), str(loud)]) == 1
    assert main([str(loud), str(bad), str(fit), "--json"]) == 2
    lines = capsys.readouterr().out.splitlines()[-3:]
    assert [json.loads(line)["readable"] for line in lines] == [True, False, True]


def test_the_limit_option_moves_the_verdict(tmp_path):
    path = str(write_csv(tmp_path / "a.csv", quiet(np.random.default_rng(1)), "still"))
    assert main([path]) == 0
    assert main([path, "--limit", "0.5"]) == 1


def test_words_for_people(tmp_path):
    words = in_words(
        score_file(write_csv(tmp_path / "a.csv", quiet(np.random.default_rng(1), 6.0), "still")),
        Limits(),
    )
    assert "NOT FIT" in words
    assert "-> " in words
    assert "continuity not judged" in words
    assert "above the limit: 2.00 uV over the whole band is 1.90 uV over 20 to 410 Hz." in words
    assert "noise limit: 2.00 uV over the whole band is 1.90 uV over 20 to 410 Hz" in words


def test_manage_command_gives_the_same_status(tmp_path, capsys):
    loud = write_csv(tmp_path / "loud.csv", quiet(np.random.default_rng(1), 6.0), "still")
    with pytest.raises(SystemExit) as stop:
        call_command("score", str(loud), "--json")
    assert stop.value.code == 1
    assert json.loads(capsys.readouterr().out)["verdict"] == "not fit"


def test_the_engine_runs_without_django(tmp_path):
    path = write_csv(tmp_path / "a.csv", quiet(np.random.default_rng(1)), "still")
    code = (
        "import sys, json\nfrom readiness.signal.command import main\n"
        f"status = main([{str(path)!r}, '--json'])\n"
        "assert 'django' not in sys.modules and 'scipy.signal' not in sys.modules\nsys.exit(status)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["verdict"] == "fit"


def test_columns_window_and_map_are_given_by_option(tmp_path, capsys):
    x = quiet(np.random.default_rng(1), seconds=14)
    lines = [f"{i / 1024:.6f},{value:.4f},2.91" for i, value in enumerate(x)]
    path = tmp_path / "b.csv"
    path.write_text("Elapsed,Left,Supply\n" + "\n".join(lines), encoding="utf-8")
    file = [str(path), "--json", "--test", "still"]
    columns = ["--emg-column", "Left (\u03bcV)", "--time-column", "Elapsed (s)"]
    assert main([*file, *columns, "--battery-column", "Supply (V)"]) == 2
    assert "--from" in json.loads(capsys.readouterr().out)["refusal"]
    assert main([*file, *columns, "--battery-column", "Supply (V)", "--from", "2.5"]) == 0
    by_name = json.loads(capsys.readouterr().out)
    roles = {channel["role"]: channel["first"] for channel in by_name["channels"]}
    assert roles["emg"] == [round(value, 4) for value in x[2560:2563]]
    assert roles["battery"] == [2.91] * 3
    mapped = ColumnMap(
        (
            MappedColumn(0, "time", "s"),
            MappedColumn(1, "emg", "uV"),
            MappedColumn(2, "battery", "V"),
        ),
        "elapsed|left|supply",
    )
    other = ColumnMap((MappedColumn(0, "emg", "mV"),), "a|b")
    for name, columns in (("other.json", other), ("kept.json", mapped)):
        (tmp_path / name).write_text(columns.to_json(), encoding="utf-8")
    maps = ["--map", str(tmp_path / "other.json"), "--map", str(tmp_path / "kept.json")]
    assert main([*file, "--window", "2.5", *maps]) == 0
    assert json.loads(capsys.readouterr().out) == by_name
    (tmp_path / "none.json").write_text("[]", encoding="utf-8")
    with pytest.raises(SystemExit):
        main([*file, "--map", str(tmp_path / "none.json")])
    assert "none.json: this is no column map" in capsys.readouterr().err


def amplified(**changes: float) -> np.ndarray:
    return model_capture("still", seed=3, **changes).emg.samples


@pytest.mark.parametrize(
    ("samples", "option"),
    [
        (lambda: amplified(low_pass_hz=150.0, low_pass_order=4), "--low-pass=150"),
        (lambda: spoil("above 100", amplified(), 1024.0), "--high-pass=100"),
    ],
)
def test_what_the_amplifier_does_itself_is_told_by_option(tmp_path, capsys, samples, option):
    file = str(write_csv(tmp_path / "a.csv", samples(), "still"))
    assert main([file]) == 1
    assert "not the raw signal" in capsys.readouterr().out
    assert main([file, option]) == 0


def test_a_notch_is_the_amplifiers_or_a_programs_as_the_option_says(tmp_path, capsys):
    capture = model_capture("still", seed=3)
    samples = spoil("notch", capture.emg.samples, capture.rate_hz)
    file = str(write_csv(tmp_path / "a.csv", samples, "still", capture.rate_hz))
    told = "A notch has taken out 50 Hz"
    assert main([file]) == 0 and told in capsys.readouterr().out
    assert main([file, "--notch", "no"]) == 1 and told in capsys.readouterr().out
    assert main([file, "--notch", "yes"]) == 0 and told not in capsys.readouterr().out
