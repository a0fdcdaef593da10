"""Columns that the operator names: found by their label, or by their place where none is called so.

A name may carry its unit in brackets, as labels do: ``Supply (V)`` is the column "Supply", whose
numbers are volts.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from readiness.signal.capture import Declared
from readiness.signal.errors import MISSING_COLUMN, CaptureRefused

from .quoting import quoted
from .raw_table import RawColumn, RawTable
from .units import find_unit, split_label

NAMED_ROLES = ("emg", "time", "battery")
LABELS_LISTED = 12
_PLACE = re.compile(r"(?:column\s+)?(\d{1,3})\Z", re.IGNORECASE | re.ASCII)


@dataclass(frozen=True, eq=False)
class NamedTable:
    """A table whose named columns carry the units they were named with, and what they are: index to
    role.
    """

    table: RawTable
    named: Mapping[int, str]

    def roles(self, guessed: Sequence[str]) -> tuple[str, ...]:
        """Roles with those that were named in the place of those that were guessed."""
        spoken_for = set(self.named.values())
        roles = ["other" if role in spoken_for else role for role in guessed]
        for index, role in self.named.items():
            roles[index] = role
        return tuple(roles)


def name_columns(table: RawTable, declared: Declared) -> NamedTable:
    """Find the columns that the operator names.

    Raises
    ------
    CaptureRefused
        ``missing="column"``: no column is called so, or several are, or one is named for two roles;
        a battery column whose unit nobody says.
    """
    columns = list(table.columns)
    named: dict[int, str] = {}
    for role in NAMED_ROLES:
        name = getattr(declared, f"{role}_column")
        if name is None:
            continue
        index, unit = _find(columns, name, role)
        if index in named:
            raise _refusal(f"{quoted(name)} is named as {named[index]} and as {role}.", role)
        named[index] = role
        if unit:
            columns[index] = replace(columns[index], unit=unit, unit_below="")
        if role == "battery":
            _need_volts(columns[index], name)
    return NamedTable(replace(table, columns=tuple(columns)) if named else table, named)


def _find(columns: Sequence[RawColumn], name: str, role: str) -> tuple[int, str]:
    """Index of the column called ``name``, and the unit the name itself carries."""
    bare, unit = split_label(name)
    unit = unit if find_unit(unit) else ""
    ways = (
        [index for index, column in enumerate(columns) if column.label == name.strip()],
        [index for index, column in enumerate(columns) if _same(column.label, name)],
        [index for index, column in enumerate(columns) if _same(column.name, name)],
        [index for index, column in enumerate(columns) if unit and _same(column.label, bare)],
        _places(columns, bare if unit else name),
    )
    found = next((indices for indices in ways if indices), [])
    if len(found) == 1:
        named_with_unit = not _same(columns[found[0]].label, name)
        return found[0], unit if named_with_unit else ""
    what = "More than one column is" if found else "No column is"
    labels = [column.label or f"column {i + 1}" for i, column in enumerate(columns)]
    listed = ", ".join(quoted(label) for label in labels[:LABELS_LISTED])
    more = f" and {len(labels) - LABELS_LISTED} more" if len(labels) > LABELS_LISTED else ""
    raise _refusal(f"{what} called {quoted(name)}; the file has {listed}{more}.", role)


def _places(columns: Sequence[RawColumn], name: str) -> list[int]:
    """The column at a place counted from 1."""
    place = _PLACE.match(name.strip())
    if place is None or not 1 <= int(place[1]) <= len(columns):
        return []
    return [int(place[1]) - 1]


def _same(label: str, name: str) -> bool:
    return bool(label) and " ".join(label.split()).casefold() == " ".join(name.split()).casefold()


def _need_volts(column: RawColumn, name: str) -> None:
    unit = find_unit(column.unit)
    if unit is not None and unit.kind == "voltage":
        return
    raise _refusal(
        f"The battery column {quoted(name)} does not say if it counts V or mV.",
        "battery",
        f"Name it with its unit: --battery-column '{quoted(name).strip(chr(39))} (V)'.",
    )


def _refusal(fault: str, role: str, answer: str = "") -> CaptureRefused:
    answer = answer or f"Name one column, or its number from 1, with --{role}-column."
    return CaptureRefused(fault, missing=MISSING_COLUMN, answer=answer)
