"""From stored bytes to a result and back: the one seam between the rows of the bench and the pure
engine.

Imports no Django.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, replace
from typing import Any

from readiness.judgement.sentences import finding_for_people
from readiness.signal.capture import Declared, Recording
from readiness.signal.errors import CaptureRefused
from readiness.signal.limits import METHOD_VERSION, Limits, Meter
from readiness.signal.readers import ColumnMap, preview, read_capture
from readiness.signal.readers.column_map import SAID_BY_A_MAP
from readiness.signal.result import Report, to_stored

DECLARED_FACTS = ("rate_hz", "unit", "mains_hz", "battery_v", "window_start_s")


def open_capture(
    name: str, data: bytes, facts: Mapping[str, Any], maps: tuple[str, ...] = ()
) -> Recording:
    """Read a capture with what the operator said of it and the column maps that are kept; one that
    does not say its test is read all the same, its ``test`` then None.

    Parameters
    ----------
    name, data : str, bytes
        The file.
    facts : mapping
        What the operator said, by name (``DECLARED_FACTS``); others are left alone.
    maps : tuple of str
        Column maps as JSON text; the one that fits the file's header is used where the file does
        not read without.

    Raises
    ------
    CaptureRefused
        What is wrong, and in ``missing`` the fact that would mend it.
    """
    moved = facts.get("moved") is True
    return replace(_read(name, data, facts, maps), moved=moved)


def _read(name: str, data: bytes, facts: Mapping[str, Any], maps: tuple[str, ...]) -> Recording:
    answers = {name: facts[name] for name in DECLARED_FACTS if facts.get(name) is not None}
    declared = Declared(**answers, test_follows=True)
    try:
        return read_capture(name, data, declared)
    except CaptureRefused as refusal:
        if not maps or refusal.missing not in SAID_BY_A_MAP:
            raise
        fitting = _fitting(name, data, maps)
        if fitting is None:
            raise
        return read_capture(name, data, replace(declared, columns=fitting))


def _fitting(name: str, data: bytes, maps: tuple[str, ...]) -> ColumnMap | None:
    try:
        signature = preview(name, data).signature
    except CaptureRefused:
        return None
    column_maps = (ColumnMap.from_json(text) for text in maps)
    return next((columns for columns in column_maps if columns.fits(signature)), None)


def judge(capture: Recording, kit: str, test: str, limits: Limits) -> dict[str, Any]:
    """Score a capture for a kit and a test; the result in its stored form.

    The stored form is what ``score --json`` gives, its sentences put for people, and beside it what
    the plots and the kit's verdict need (``readiness.signal.result.to_stored``).

    Raises
    ------
    CaptureRefused
        If the capture cannot be scored after all.
    """
    # SciPy's first use costs a third of a second; pages that only show results never pay it.
    from readiness.signal.score import score_capture

    capture = replace(capture, kit=kit, test=test)
    result = score_capture(capture, limits)
    report = Report(capture.file, True, None, "", capture, result)
    stored = report.to_json() | to_stored(result)
    stored["findings"] = [finding_for_people(finding) for finding in stored["findings"]]
    return stored


def limits_dict(limits: Limits) -> dict[str, Any]:
    """Limits as kept with a verdict, the method's version beside them."""
    return {**asdict(limits), "method_version": METHOD_VERSION}


def limits_from(stored: Mapping[str, Any]) -> Limits:
    """Limits as they were kept with a verdict."""
    values = {name: value for name, value in stored.items() if name != "method_version"}
    return Limits(**{**values, "meter": Meter(**values["meter"])})


def measured(result: Mapping[str, Any], name: str) -> float | None:
    """The value of a named measurement in a stored result, or None."""
    for measurement in result.get("measurements", ()):
        if measurement["name"] == name:
            value: float | None = measurement["value"]
            return value
    return None
