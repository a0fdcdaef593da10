"""What scoring says of a capture, in three forms: as objects, as stored, and as ``score --json``.

``to_stored`` and ``from_stored`` are exact inverses. ``Report.to_json`` is the contract for
scripts; a stored row holds it together with what ``to_stored`` gives beyond it (leads proven,
events, windows).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from .capture import Channel, Recording

ASPECTS_SCORED = ("continuity", "noise", "battery")
FIRST_SAMPLES = 3
WHOLE_BELOW = 1e15
"""Whole numbers below this are written without a decimal point."""


@dataclass(frozen=True)
class Scores:
    """The three headline scores, 0 to 100, ``None`` where this capture does not judge the
    aspect.
    """

    continuity: float | None = None
    noise: float | None = None
    battery: float | None = None


@dataclass(frozen=True)
class Measurement:
    """A measured value with unit, 95 % interval (or the meter's range) and limit, ``None`` where
    there is none.
    """

    name: str
    value: float
    unit: str
    low: float | None = None
    high: float | None = None
    limit: float | None = None


@dataclass(frozen=True)
class AbruptEvent:
    """A jump of the trace: where, how high (uV), in which window, and in whose (``None``: between
    two leads). With a ``reason`` it is explained and does not count against the kit.
    """

    start_s: float
    end_s: float
    size_uv: float
    window: str
    lead: str | None
    reason: str = ""


@dataclass(frozen=True)
class Finding:
    """One finding. ``verdict`` is ``retest``, ``not fit`` or ``note``; ``lead`` is ``A``, ``B``,
    ``ground`` or None.
    """

    code: str
    aspect: str
    lead: str | None
    verdict: str
    text: str
    action: str


@dataclass(frozen=True)
class Result:
    """What a capture says of its kit. ``events`` and ``windows`` (name, start, end in seconds) are
    the evidence the plots show.
    """

    test: str
    verdict: str
    scores: Scores
    findings: tuple[Finding, ...]
    measurements: tuple[Measurement, ...]
    proven: tuple[str, ...]
    events: tuple[AbruptEvent, ...]
    windows: tuple[tuple[str, float, float], ...]
    mains_hz: float

    def value_of(self, name: str) -> float | None:
        """The value of a measurement by its name, ``None`` where it was not measured."""
        return next((row.value for row in self.measurements if row.name == name), None)


@dataclass(frozen=True)
class Report:
    """Answer for one file, readable or not. ``missing`` names the fact that would make a refused
    file readable.
    """

    file: str
    readable: bool
    refusal: str | None
    missing: str
    capture: Recording | None
    result: Result | None

    def to_json(self) -> dict[str, Any]:
        """The stable contract for scripts: exact keys, plain numbers, no NaN."""
        capture, result = self.capture, self.result
        test = capture.test if capture else None
        channels = capture.channels if capture else ()
        findings = result.findings if result else ()
        measurements = result.measurements if result else ()
        return {
            "file": self.file,
            "readable": self.readable,
            "refusal": self.refusal,
            "kit": capture.kit if capture else None,
            "test": result.test if result else test,
            "rate_hz": plain_number(capture.rate_hz) if capture else None,
            "duration_s": plain_number(capture.duration_s) if capture else None,
            "mains_hz": plain_number(result.mains_hz) if result else None,
            "channels": [_channel_facts(channel) for channel in channels],
            "verdict": result.verdict if result else None,
            "scores": _plain(vars(result.scores if result else Scores())),
            "findings": [dict(vars(finding)) for finding in findings],
            "measurements": [_plain(vars(row)) for row in measurements],
        }


def to_stored(result: Result) -> dict[str, Any]:
    """A result as plain JSON values; ``from_stored`` gives the same result back.

    An event is a list of start, end (seconds), size (microvolts), window, lead and reason; a window
    a list of name, start and end.
    """
    return {
        "test": result.test,
        "mains_hz": plain_number(result.mains_hz),
        "verdict": result.verdict,
        "scores": _plain(vars(result.scores)),
        "findings": [dict(vars(finding)) for finding in result.findings],
        "measurements": [_plain(vars(row)) for row in result.measurements],
        "proven": list(result.proven),
        "events": [list(vars(event).values()) for event in result.events],
        "windows": [list(window) for window in result.windows],
    }


def from_stored(stored: Mapping[str, Any]) -> Result:
    """The result a stored row holds; keys that are no part of a result are left alone.

    Rows of the first days have no ``proven``, ``events`` or ``windows``; these are empty then.
    """
    return Result(
        test=stored["test"],
        verdict=stored["verdict"],
        scores=Scores(**stored["scores"]),
        findings=tuple(_finding_from(row) for row in stored["findings"]),
        measurements=tuple(Measurement(**row) for row in stored["measurements"]),
        proven=tuple(stored.get("proven", ())),
        events=tuple(AbruptEvent(*row) for row in stored.get("events", ())),
        windows=tuple((name, start, end) for name, start, end in stored.get("windows", ())),
        mains_hz=stored["mains_hz"],
    )


def plain_number(value: float | None) -> float | None:
    """A plain finite number, or ``None``: JSON knows no NaN."""
    if value is None or not math.isfinite(value):
        return None
    value = float(value)
    return int(value) if value.is_integer() and abs(value) < WHOLE_BELOW else value


def _plain(facts: Mapping[str, Any]) -> dict[str, Any]:
    """The same facts with every number a plain one."""
    return {
        name: value if isinstance(value, str) else plain_number(value)
        for name, value in facts.items()
    }


def _finding_from(row: Mapping[str, Any]) -> Finding:
    names = ("code", "aspect", "lead", "verdict", "text", "action")
    return Finding(**{name: row[name] for name in names})


def _channel_facts(channel: Channel) -> dict[str, Any]:
    first = [plain_number(float(value)) for value in channel.samples[:FIRST_SAMPLES]]
    return {
        "label": channel.label,
        "role": channel.role,
        "unit": channel.unit,
        "rate_hz": plain_number(channel.rate_hz),
        "samples": len(channel.samples),
        "first": first,
    }
