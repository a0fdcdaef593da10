"""Captures read in a process of their own: the same numbers and words as read here."""

from __future__ import annotations

import resource
from pathlib import Path

import numpy as np
import pytest

from readiness.judgement import opened_apart
from readiness.judgement.judging import open_capture
from readiness.judgement.opened_apart import open_apart, preview_apart
from readiness.signal.capture import Channel, Declared, Recording
from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import preview
from rentals.limited_process import ProcessLimits
from tests.readiness.captures import capture_bytes
from tests.readiness.signal.readers.edf_bytes import noise_file

pytestmark = pytest.mark.any_database
FIXTURES = Path(__file__).resolve().parents[3] / "fixtures" / "captures"


def _plain(value: object) -> object:
    """A recording as what can be compared."""
    if isinstance(value, Recording | Channel):
        return {name: _plain(part) for name, part in vars(value).items()}
    if isinstance(value, tuple):
        return tuple(map(_plain, value))
    return value.tobytes() if isinstance(value, np.ndarray) else value


@pytest.mark.parametrize("name", ["sound lift.edf", "intermittent lead B flex.csv"])
def test_a_recording_comes_back_to_the_last_bit(name: str) -> None:
    data, facts = (FIXTURES / name).read_bytes(), {"moved": True}
    here, apart = open_capture(name, data, facts), open_apart(name, data, facts)
    assert _plain(apart) == _plain(here)
    assert apart.emg in apart.channels
    assert not apart.emg.samples.flags.writeable


def test_a_refusal_and_a_preview_come_back() -> None:
    bare = capture_bytes("still", drop=("unit", "rate_hz"), battery_v=None)
    for name, data in (("a.csv", bare), ("a.png", b"\x89PNG"), ("a.csv", b"")):
        with pytest.raises(CaptureRefused) as here:
            open_capture(name, data, {})
        with pytest.raises(CaptureRefused) as apart:
            open_apart(name, data, {})
        assert vars(apart.value) == vars(here.value)
    seen = preview("a.csv", bare, Declared(test_follows=True))
    came = preview_apart("a.csv", bare, test_follows=True)
    assert [str(refusal) for refusal in came.refusals] == [str(each) for each in seen.refusals]
    assert vars(came) | {"refusals": ()} == vars(seen) | {"refusals": ()}
    with pytest.raises(CaptureRefused, match="PNG picture"):
        preview_apart("a.png", b"\x89PNG", test_follows=True)


def test_bombs_are_refused_and_the_desk_stays_small(monkeypatch: pytest.MonkeyPatch) -> None:
    claims = noise_file().to_bytes()
    many = claims[:184] + b"2560000 " + claims[192:252] + b"9999" + claims[256:]
    too_large, too_dear = b"1," * (20 * 2**20), b"1," * (5 * 2**20)
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    for data in (many, too_large):
        with pytest.raises(CaptureRefused):
            open_apart("a.edf", data, {})
    monkeypatch.setattr(opened_apart, "LIMITS", ProcessLimits(seconds=10, mib=8))
    with pytest.raises(CaptureRefused, match=r"more time or memory.*as CSV or EDF"):
        open_apart("a.csv", too_dear, {})
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 20_000
