"""Which column or signal of a file is the EMG, the battery, the time: by label and unit, never by a
guess.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from readiness.signal.errors import CaptureRefused

from .quoting import quoted
from .units import find_unit, is_counts

_EMG = re.compile(r"s?emg|exg|myo", re.IGNORECASE)
_BATTERY = re.compile(r"(^|[^a-z])v?_?bat(t|tery|_v)?\d?($|[^a-z])", re.IGNORECASE)
_TIME = re.compile(
    r"(t|time|times|timestamp|elapsed|seconds|sec|millis|zeit|temps|tiempo)", re.IGNORECASE
)
_PLAIN = re.compile(
    r"((ch|channel|signal|sig|chan|lead|input|data|value|raw|y)[\s_.-]*\d*|\d+)", re.IGNORECASE
)


@dataclass(frozen=True)
class Column:
    """A column or signal as its header names it. ``unit`` is the text in its label or unit field,
    or empty.
    """

    index: int
    label: str
    name: str
    unit: str


def guess_roles(columns: Sequence[Column]) -> list[str]:
    """Roles by label and unit; several columns may come out as ``emg`` (see ``only_emg``).

    A label that says so wins; else the columns with a voltage unit are candidates; else those that
    only carry a number or a word such as "channel", or the single column that is left over.
    """
    roles = [_role_by_label(column) for column in columns]
    if "emg" in roles:
        return roles
    free = [i for i, role in enumerate(roles) if role == "other"]
    volts = [i for i in free if _is_voltage(columns[i].unit)]
    plain = [i for i in free if not columns[i].unit or is_counts(columns[i].unit)]
    named = [i for i in plain if _PLAIN.fullmatch(columns[i].name) or not columns[i].name]
    for i in volts or named or (plain if len(plain) == 1 else []):
        roles[i] = "emg"
    return roles


def only_emg(columns: Sequence[Column], roles: Sequence[str]) -> int:
    """Index of the one EMG column.

    Raises
    ------
    CaptureRefused
        ``missing="column"`` when there is none or more than one, naming the candidates.
    """
    found = [i for i, role in enumerate(roles) if role == "emg"]
    if len(found) > 1:
        volts = [i for i in found if _is_voltage(columns[i].unit)]
        found = volts if len(volts) == 1 else found
    if len(found) == 1:
        return found[0]
    pick = found or [i for i, role in enumerate(roles) if role == "other"] or range(len(columns))
    names = ", ".join(
        quoted(columns[i].label or f"column {columns[i].index + 1}") for i in list(pick)[:8]
    )
    more = len(list(pick)) - 8
    names += f" and {more} more" if more > 0 else ""
    what = "More than one channel could be the EMG" if found else "No channel is marked as the EMG"
    raise CaptureRefused(
        f"{what}: {names}. Say which column it is (column map on screen).", missing="column"
    )


def _role_by_label(column: Column) -> str:
    unit = find_unit(column.unit)
    if (
        _TIME.fullmatch(column.name)
        and (unit is None or unit.kind == "time")
        and not is_counts(column.unit)
    ):
        return "time"
    if unit is not None and unit.kind == "time":
        return "time" if "time" in column.name.lower() else "other"
    if _BATTERY.search(column.name) and (unit is None or unit.text in ("V", "mV")):
        return "battery" if unit is not None else "other"
    if _EMG.search(column.name) and (not column.unit or unit is not None or is_counts(column.unit)):
        return "emg"
    return "other"


def _is_voltage(text: str) -> bool:
    unit = find_unit(text)
    return unit is not None and unit.kind == "voltage"
