"""Files of one run that hold the same samples."""

from __future__ import annotations

import json
from datetime import datetime

import numpy as np
import pytest

from readiness.signal.command import main
from readiness.signal.readers import write_csv, write_edf
from readiness.signal.samples_seen import shift_in_words
from tests.readiness.signal.made import RATE, model_capture

pytestmark = pytest.mark.any_database


@pytest.fixture(scope="module")
def samples():
    return np.clip(model_capture("still", seed=5).emg.samples, -4999, 4999)


def scored(capsys, folder, *files):
    for n, data in enumerate(files):
        (folder / f"{n}.{'edf' if data.startswith(b'0  ') else 'csv'}").write_bytes(data)
    status = main([*(str(path) for path in sorted(folder.iterdir())), "--json"])
    return status, [json.loads(line) for line in capsys.readouterr().out.splitlines()]


def repeated(report):
    return [item for item in report["findings"] if item["code"] == "repeated_samples"]


def as_csv(x, **facts):
    return write_csv(x, RATE, battery_v=2.9, **facts)


def test_for_another_kit_they_are_a_retest_of_the_later(capsys, tmp_path, samples):
    first = as_csv(samples, kit="K1", test="still")
    shifted = np.concatenate([samples[137:], model_capture("still", seed=6).emg.samples[:137]])
    second = write_edf(shifted, RATE, kit="K2", test="still", battery_v=2.9)
    other = as_csv(model_capture("still", seed=6).emg.samples, kit="K3", test="still")
    status, (a, b, c) = scored(capsys, tmp_path, first, second, other)
    assert (status, a["verdict"], b["verdict"], c["verdict"]) == (1, "fit", "retest", "fit")
    (finding,) = repeated(b)
    assert "0.csv, from 0.13" in finding["text"] and "kit K1 and to kit K2" in finding["text"]
    assert finding["action"] == "Record this test again"
    assert not repeated(a) and not repeated(c)


def test_another_test_or_another_day_is_a_retest_too(capsys, tmp_path, samples):
    day = datetime(2026, 3, 2, 9)
    files = [
        as_csv(samples, kit="K1", test="still", taken=day),
        as_csv(samples, kit="K1", test="still", taken=day.replace(day=3)),
        as_csv(samples, kit="K1", test="flex"),
    ]
    _, (_, again, flex) = scored(capsys, tmp_path, *files)
    assert again["verdict"] == "retest" and "two times" in repeated(again)[0]["text"]
    assert "the tests still and flex" in repeated(flex)[0]["text"]


def test_the_same_test_in_another_form_is_only_noted(capsys, tmp_path, samples):
    form = write_edf(samples, RATE, kit="K1", test="still", battery_v=2.9)
    status, reports = scored(capsys, tmp_path, as_csv(samples, test="still"), form)
    assert (status, repeated(reports[1])[0]["verdict"]) == (0, "note")


def test_where_a_piece_begins_in_words():
    assert shift_in_words(0.0) == ""
    assert shift_in_words(1.0) == ", from 1 s later on"
    assert shift_in_words(-0.5) == ", from 0.5 s earlier on"
