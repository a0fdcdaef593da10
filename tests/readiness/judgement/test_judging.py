"""From stored bytes to a result, with what the operator said and the maps that are kept."""

from __future__ import annotations

import pytest

from readiness.judgement.judging import judge, limits_dict, limits_from, measured, open_capture
from readiness.signal.errors import CaptureRefused
from readiness.signal.limits import METHOD_VERSION, Limits
from tests.readiness.captures import capture_bytes

STILL = capture_bytes("still", kit="K0014E")


def test_a_file_is_read_whether_or_not_it_names_its_test():
    assert open_capture("a.csv", STILL, {}).test == "still"
    nameless = capture_bytes("still", drop=("test",))
    assert open_capture("a.csv", nameless, {}).test is None


def test_what_the_operator_said_is_used_and_other_facts_are_left_alone():
    bare = capture_bytes("still", drop=("battery_v",), battery_v=None)
    recording = open_capture("a.csv", bare, {"battery_v": 2.6, "kit": "K0014E", "unit": None})
    assert recording.battery_v == pytest.approx([2.6])


def test_a_refusal_stands_where_no_map_fits():
    with pytest.raises(CaptureRefused):
        open_capture("a.csv", b"junk", {}, ("{}",))


def test_a_result_holds_what_the_pages_need_and_limits_come_back_as_they_were_kept():
    limits = Limits(noise_uv=1.5)
    kept = limits_dict(limits)
    assert kept["method_version"] == METHOD_VERSION
    assert limits_from(kept) == limits
    recording = open_capture("a.csv", STILL, {})
    result = judge(recording, "K0014E", "still", limits)
    assert (result["kit"], result["verdict"]) == ("K0014E", "fit")
    assert 0 < measured(result, "noise_full_band") < 1.5
    assert measured(result, "nothing") is None
    assert {"windows", "events"} <= set(result)
