"""A result as stored and as ``score --json``: nothing is lost, and rows of old load."""

from __future__ import annotations

import json

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from readiness.signal.kit import kit_verdict
from readiness.signal.result import (
    AbruptEvent,
    Finding,
    Measurement,
    Report,
    Result,
    Scores,
    from_stored,
    plain_number,
    to_stored,
)
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import Fault

from .made import model_capture

numbers = st.floats(allow_nan=False, allow_infinity=False)
scores = st.none() | st.floats(0, 100)
words = st.text("abc µ", max_size=8)
leads = st.none() | st.sampled_from(["A", "B", "ground"])
results = st.builds(
    Result,
    test=words,
    verdict=words,
    scores=st.builds(Scores, scores, scores, scores),
    findings=st.lists(st.builds(Finding, words, words, leads, words, words, words), max_size=3).map(
        tuple
    ),
    measurements=st.lists(
        st.builds(Measurement, words, numbers, words, *[st.none() | numbers] * 3), max_size=3
    ).map(tuple),
    proven=st.lists(words, max_size=3).map(tuple),
    events=st.lists(
        st.builds(AbruptEvent, numbers, numbers, numbers, words, leads), max_size=3
    ).map(tuple),
    windows=st.lists(st.tuples(words, numbers, numbers), max_size=3).map(tuple),
    mains_hz=numbers,
)


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(results)
def test_stored_and_read_again_it_is_the_same(result):
    stored = json.loads(json.dumps(to_stored(result), allow_nan=False))
    assert from_stored(stored) == result
    assert to_stored(from_stored(stored)) == to_stored(result)


def scored(test: str, *faults: Fault) -> tuple[Report, Result]:
    capture = model_capture(test, *faults)
    result = score_capture(capture)
    return Report("made.csv", True, None, "", capture, result), result


def test_a_scored_capture_comes_back_from_its_row_and_gives_the_same_kit_verdict():
    made = {
        test: scored(test, Fault("intermittent_lead", 0.05, "B", count=3))
        for test in ("still", "flex", "lift")
    }
    rows = {
        test: json.loads(json.dumps(report.to_json() | to_stored(result)))
        for test, (report, result) in made.items()
    }
    read = {test: from_stored(row) for test, row in rows.items()}
    assert read == {test: result for test, (_, result) in made.items()}
    assert kit_verdict(read) == kit_verdict({test: result for test, (_, result) in made.items()})


def test_the_contract_has_exactly_these_keys_in_this_order():
    report, result = scored("still")
    answer = report.to_json()
    assert list(answer) == [
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
    assert list(answer["scores"]) == ["continuity", "noise", "battery"]
    row = answer["measurements"][0]
    assert list(row) == ["name", "value", "unit", "low", "high", "limit"]
    assert list(answer["channels"][0]) == ["label", "role", "unit", "rate_hz", "samples", "first"]
    assert list(answer | to_stored(result))[-3:] == ["proven", "events", "windows"]


def test_a_refused_file_has_the_same_keys_and_empty_values():
    refused = Report("x.csv", False, "No rate.", "rate", None, None).to_json()
    assert list(refused) == list(scored("still")[0].to_json())
    assert refused["scores"] == {"continuity": None, "noise": None, "battery": None}
    assert (refused["channels"], refused["findings"], refused["verdict"]) == ([], [], None)


def test_a_row_of_the_first_days_loads():
    """Written before there were events: no ``proven``, no ``events``, no ``windows``."""
    row = {
        "file": "K07-still.csv",
        "readable": True,
        "refusal": None,
        "kit": "K0007",
        "test": "still",
        "rate_hz": 1024,
        "duration_s": 10,
        "mains_hz": 50,
        "channels": [],
        "verdict": "not fit",
        "scores": {"continuity": None, "noise": 0, "battery": 100},
        "findings": [
            {
                "code": "excess_noise",
                "aspect": "noise",
                "lead": None,
                "verdict": "not fit",
                "text": "The noise floor (4.52 µV RMS) is above the limit.",
                "action": "Replace the lead set and test again",
            }
        ],
        "measurements": [
            {
                "name": "noise_full_band",
                "value": 4.52,
                "unit": "uV",
                "low": 4.4,
                "high": 4.6,
                "limit": 1.9,
            }
        ],
    }
    result = from_stored(row)
    assert (result.proven, result.events, result.windows) == ((), (), ())
    assert result.value_of("noise_full_band") == 4.52
    assert result.value_of("no_such_row") is None
    assert to_stored(result) == {key: row[key] for key in to_stored(result) if key in row} | {
        "proven": [],
        "events": [],
        "windows": [],
    }


def test_numbers_are_plain():
    assert plain_number(float("nan")) is None
    assert plain_number(float("inf")) is None
    assert isinstance(plain_number(5.0), int)
    assert plain_number(1e300) == 1e300
