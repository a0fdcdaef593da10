"""Which column or signal of a file is the EMG, the battery, the time: by label and unit, never by a
guess.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from readiness.signal.errors import MISSING_COLUMN, CaptureRefused

from .quoting import quoted
from .raw_table import RawColumn
from .units import find_unit, is_ambiguous, is_counts, split_label

CANDIDATES_NAMED = 8
_EMG = re.compile(r"s?emg|exg|myo", re.IGNORECASE)
_BATTERY = re.compile(r"(^|[^a-z])v?_?bat(t|tery|_v)?\d?($|[^a-z])", re.IGNORECASE)
_TIME = re.compile(
    r"(t|time|times|timestamp|elapsed|seconds|sec|millis|zeit|temps|tiempo)", re.IGNORECASE
)
_PLAIN = re.compile(
    r"((ch|channel|signal|sig|chan|lead|input|data|value|raw|y)[\s_.-]*\d*|\d+)", re.IGNORECASE
)


def guess_roles(columns: Sequence[RawColumn]) -> tuple[str, ...]:
    """Roles by label and unit; several columns may come out as ``emg`` (see ``only_emg``).

    A label that says so wins; else the columns with a voltage unit are candidates; else those that
    only carry a number or a word such as "channel", or the single column that is left over.
    """
    roles = [_role_by_label(column) for column in columns]
    if "time" not in roles and len(columns) > 1 and _is_time(columns[0].unit):
        roles[0] = "time"
    if "emg" not in roles:
        for index in _candidates(columns, roles):
            roles[index] = "emg"
    return tuple(roles)


def only_emg(columns: Sequence[RawColumn], roles: Sequence[str]) -> int:
    """Index of the one EMG column.

    Raises
    ------
    CaptureRefused
        ``missing="column"`` when there is none or more than one, naming the candidates.
    """
    candidates = _indices(roles, "emg")
    volts = [index for index in candidates if _is_voltage(columns[index].unit)]
    if len(candidates) == 1:
        return candidates[0]
    if len(volts) == 1:
        return volts[0]
    trouble = "No channel is marked as the EMG"
    if candidates:
        trouble = "More than one channel could be the EMG"
    choice = candidates or _indices(roles, "other") or list(range(len(columns)))
    labels = _label_list(columns, choice)
    raise CaptureRefused(
        f"{trouble}: {labels}.",
        missing=MISSING_COLUMN,
        answer="Name it with --emg-column.",
    )


def is_known_label(label: str) -> bool:
    """Whether a label names a time, a battery or an EMG, with or without a unit."""
    name, _ = split_label(label)
    patterns = (_TIME.fullmatch(name), _BATTERY.search(name), _EMG.search(name))
    return any(patterns)


def _candidates(columns: Sequence[RawColumn], roles: Sequence[str]) -> list[int]:
    """Columns that can be the EMG where no label says it."""
    free = _indices(roles, "other")
    volts = [index for index in free if _is_voltage(columns[index].unit)]
    plain = [index for index in free if not columns[index].unit or is_counts(columns[index].unit)]
    unspecific = [index for index in plain if _says_nothing(columns[index].name)]
    single = plain if len(plain) == 1 else []
    return volts or unspecific or single


def _role_by_label(column: RawColumn) -> str:
    unit = find_unit(column.unit)
    counts = is_counts(column.unit)
    if unit is not None and unit.kind == "time":
        is_time = _TIME.fullmatch(column.name) or "time" in column.name.lower()
        return "time" if is_time else "other"
    if unit is None and not counts and _TIME.fullmatch(column.name):
        return "time"
    if _BATTERY.search(column.name) and (unit is None or unit.text in ("V", "mV")):
        return "battery" if unit is not None else "other"
    unit_fits = not column.unit or unit is not None or counts or is_ambiguous(column.unit)
    return "emg" if unit_fits and _EMG.search(column.name) else "other"


def _says_nothing(name: str) -> bool:
    return not name or _PLAIN.fullmatch(name) is not None


def _is_voltage(text: str) -> bool:
    unit = find_unit(text)
    return unit is not None and unit.kind == "voltage"


def _is_time(text: str) -> bool:
    unit = find_unit(text)
    return unit is not None and unit.kind == "time"


def _indices(roles: Sequence[str], role: str) -> list[int]:
    return [index for index, own in enumerate(roles) if own == role]


def _label_list(columns: Sequence[RawColumn], indices: Sequence[int]) -> str:
    labels = [columns[index].label or f"column {index + 1}" for index in indices]
    names = ", ".join(quoted(label) for label in labels[:CANDIDATES_NAMED])
    unnamed = len(labels) - CANDIDATES_NAMED
    return f"{names} and {unnamed} more" if unnamed > 0 else names
