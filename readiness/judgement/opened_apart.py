"""Captures from outside, read in a process of their own (`rentals.limited_process`); the numbers
come back as raw arrays.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, replace
from datetime import datetime
from typing import Any

import numpy as np

from readiness.judgement.judging import open_capture
from readiness.signal.capture import Channel, Declared, Note, Recording
from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import Preview, PreviewColumn, preview
from readiness.signal.readers.limits import check_size
from rentals.limited_process import ApartFunction, OverLimits, ProcessLimits, run_limited

LIMITS = ProcessLimits(seconds=30, mib=512, files=50)
"""The longest text that is read takes some seconds and half of that memory."""
_ADVICE = "Export the ten seconds again as CSV or EDF."
_PLAIN = ("file", "rate_hz", "kit", "test", "mains_hz", "moved", "recorded_hz")


def open_apart(
    name: str, data: bytes, facts: Mapping[str, Any], maps: tuple[str, ...] = ()
) -> Recording:
    """Read a capture as `readiness.judgement.judging.open_capture` does.

    Raises
    ------
    CaptureRefused
        As there, and if the file takes more time or memory than a capture needs.
    AllBusy
        If too many files are being opened; the same file may be read later.
    """
    asked = {"name": name, "declared": dict(facts), "maps": maps}
    answer, numbers = _answer(read_numbers, asked, data)
    return _recording(answer, np.frombuffer(numbers))


def preview_apart(name: str, data: bytes, *, test_follows: bool) -> Preview:
    """Describe a capture as `readiness.signal.readers.preview` does; raises as `open_apart`."""
    asked = {"name": name, "test_follows": test_follows}
    answer, _ = _answer(describe, asked, data)
    columns = tuple(PreviewColumn(**column) for column in answer.pop("columns"))
    rows = tuple(map(tuple, answer.pop("rows")))
    refusals = tuple(CaptureRefused(**refusal) for refusal in answer.pop("refusals"))
    missing = tuple(answer.pop("missing"))
    return Preview(**answer, columns=columns, rows=rows, refusals=refusals, missing=missing)


def _answer(
    function: ApartFunction, asked: dict[str, Any], data: bytes
) -> tuple[dict[str, Any], bytes]:
    check_size(len(data))
    try:
        answer, numbers = run_limited(function, asked, data, LIMITS)
    except OverLimits as over:
        raise CaptureRefused(over.words(_ADVICE)) from over
    if refusal := answer.get("refusal"):
        raise CaptureRefused(**refusal)
    return answer, numbers


def _recording(answer: dict[str, Any], numbers: np.ndarray) -> Recording:
    ends = np.cumsum(answer["lengths"], dtype=int)
    arrays = np.split(numbers, ends)
    channels = [
        Channel(**{**facts, "samples": arrays[facts["samples"]], "full_scale": _pair(facts)})
        for facts in answer["channels"]
    ]
    converted, battery, taken = answer["converted"], answer["battery_v"], answer["taken"]
    return Recording(
        **{name: answer[name] for name in _PLAIN},
        channels=tuple(channels[: answer["own"]]),
        emg=channels[answer["emg"]],
        converted=None if converted is None else channels[converted],
        battery_v=None if battery is None else arrays[battery],
        taken=None if taken is None else datetime.fromisoformat(taken),
        notes=tuple(Note(**note) for note in answer["notes"]),
    )


def _pair(facts: dict[str, Any]) -> tuple[float, float] | None:
    return None if facts["full_scale"] is None else tuple(facts["full_scale"])


# In the other process ------------------------------------------------------
def read_numbers(facts: dict[str, Any], data: bytes) -> tuple[dict[str, Any], bytes]:
    """A recording as facts and one array after the other, or why there is none."""
    try:
        recording = open_capture(facts["name"], data, facts["declared"], tuple(facts["maps"]))
    except CaptureRefused as refusal:
        return {"refusal": _refusal(refusal)}, b""
    arrays: list[np.ndarray] = []
    channels = list(recording.channels)
    places = {id(channel): place for place, channel in enumerate(channels)}

    def place_of(channel: Channel) -> int:
        if id(channel) not in places:
            places[id(channel)] = len(channels)
            channels.append(channel)
        return places[id(channel)]

    def array_of(values: np.ndarray) -> int:
        arrays.append(np.ascontiguousarray(values, dtype=np.float64))
        return len(arrays) - 1

    answer = {name: getattr(recording, name) for name in _PLAIN}
    answer["own"] = len(channels)
    answer["emg"] = place_of(recording.emg)
    answer["converted"] = recording.converted and place_of(recording.converted)
    answer["channels"] = [
        {**_channel_facts(channel), "samples": array_of(channel.samples)} for channel in channels
    ]
    battery = recording.battery_v
    answer["battery_v"] = None if battery is None else array_of(battery)
    answer["taken"] = recording.taken and recording.taken.isoformat()
    answer["notes"] = [asdict(note) for note in recording.notes]
    answer["lengths"] = [len(values) for values in arrays]
    return answer, b"".join(values.tobytes() for values in arrays)


def describe(facts: dict[str, Any], data: bytes) -> tuple[dict[str, Any], bytes]:
    """A preview as JSON can carry it, or why there is none."""
    try:
        seen = preview(facts["name"], data, Declared(test_follows=facts["test_follows"]))
    except CaptureRefused as refusal:
        return {"refusal": _refusal(refusal)}, b""
    # Refusals are exceptions, which cannot be copied into a dictionary.
    answer = asdict(replace(seen, refusals=()))
    return answer | {"refusals": [_refusal(refusal) for refusal in seen.refusals]}, b""


def _refusal(refusal: CaptureRefused) -> dict[str, str]:
    return {"fault": refusal.fault, "missing": refusal.missing, "answer": refusal.answer}


def _channel_facts(channel: Channel) -> dict[str, Any]:
    names = ("label", "role", "unit", "rate_hz", "resolution", "full_scale")
    return {name: getattr(channel, name) for name in names}
