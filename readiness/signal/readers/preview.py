"""What the column-map page shows of a file, read or not: how it is written, its columns, and which
facts lack.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from readiness.signal.capture import Declared, need_test
from readiness.signal.errors import CaptureRefused

from .column_map import ColumnMap
from .decide import (
    decide_rate,
    decide_roles,
    decide_unit,
    declared_map,
    find_times,
    fitting_map,
)
from .facts import Facts, merge, parse_facts
from .formats import choose_reader
from .limits import check_size
from .named_columns import name_columns
from .raw_table import RawTable
from .roles import guess_roles, only_emg

NOTHING_DECLARED = Declared()
ROWS_SHOWN = 8
Answer = TypeVar("Answer")


@dataclass(frozen=True)
class PreviewColumn:
    """One column or signal: its label, unit text and guessed role; ``rate_hz`` where the file gives
    each its own.
    """

    index: int
    label: str
    unit: str
    role: str
    rate_hz: float | None = None


@dataclass(frozen=True)
class Preview:
    """A file as far as it can be told.

    Attributes
    ----------
    format : str
        ``"text"``, ``"EDF"``, ``"EDF+C"``, ``"EDF+D"``, ``"BDF"``, ``"BDF+C"``, ``"BDF+D"``,
        ``"WAV"`` or ``"WFDB"``.
    delimiter, decimal, encoding : str
        Of a text; empty otherwise.
    facts : dict
        Header keys and their texts, all of them.
    columns, rows : tuple
        The columns, and the first rows as the file writes them (EDF: as numbers).
    missing : tuple of str
        Which of ``column``, ``unit``, ``rate``, ``test`` must be given before the file can be read.
    refusals : tuple of CaptureRefused
        One for each missing fact, and for anything else that stands in the way.
    of_full_scale : bool
        Its numbers are fractions of a full scale that must be given.
    signature : str
        Header signature for a ``ColumnMap``.
    """

    format: str
    delimiter: str
    decimal: str
    encoding: str
    facts: dict[str, str]
    columns: tuple[PreviewColumn, ...]
    rows: tuple[tuple[str, ...], ...]
    missing: tuple[str, ...]
    refusals: tuple[CaptureRefused, ...]
    signature: str
    of_full_scale: bool = False


def preview(name: str, data: bytes, declared: Declared = NOTHING_DECLARED) -> Preview:
    """Describe a capture file without needing its facts to be complete.

    Raises
    ------
    CaptureRefused
        Only for what no answer can mend: another kind of file, a damaged one, a text without rows
        of numbers.
    """
    check_size(len(data))
    named = name_columns(
        choose_reader(name, data).open_table(data, declared_map(declared)), declared
    )
    table = named.table
    column_map = fitting_map(table, declared)
    obstacles = _Obstacles()
    facts = obstacles.collect(lambda: merge(parse_facts(table.words), declared)) or Facts()
    roles = obstacles.collect(lambda: decide_roles(named, column_map))
    roles = roles or guess_roles(table.columns)
    _try_unit_and_rate(table, roles, column_map, facts, obstacles)
    if not declared.test_follows:
        obstacles.collect(lambda: need_test(facts.test))
    rows = table.first_rows or obstacles.collect(lambda: _first_numbers(table.readings.samples))
    return Preview(
        format=table.format,
        delimiter=table.delimiter,
        decimal=table.decimal,
        encoding=table.encoding,
        facts=dict(table.words),
        columns=_columns(table, roles),
        rows=rows or (),
        missing=tuple(obstacles.missing),
        refusals=tuple(obstacles.refusals),
        signature=table.signature,
        of_full_scale=any(column.of_full_scale for column in table.columns),
    )


class _Obstacles:
    """Makes one decision after another, noting the refusals instead of stopping at the first."""

    def __init__(self) -> None:
        self.missing: list[str] = []
        self.refusals: list[CaptureRefused] = []

    def collect(self, decision: Callable[[], Answer]) -> Answer | None:
        """The decision, or ``None`` where it is refused."""
        try:
            return decision()
        except CaptureRefused as refusal:
            if refusal.missing and refusal.missing not in self.missing:
                self.missing.append(refusal.missing)
            if refusal.sentence not in [earlier.sentence for earlier in self.refusals]:
                self.refusals.append(refusal)
            return None


def _try_unit_and_rate(
    table: RawTable,
    roles: Sequence[str],
    column_map: ColumnMap | None,
    facts: Facts,
    obstacles: _Obstacles,
) -> None:
    emg = obstacles.collect(lambda: only_emg(table.columns, roles))
    if emg is not None:
        obstacles.collect(lambda: decide_unit(table, emg, column_map, facts))
    if emg is None and table.has_own_rates:
        return
    times = None
    if not table.has_own_rates:
        times = obstacles.collect(lambda: find_times(table, roles, column_map, facts))
    if "rate" not in obstacles.missing:
        obstacles.collect(lambda: decide_rate(table, roles, emg or 0, column_map, facts, times))


def _columns(table: RawTable, roles: Sequence[str]) -> tuple[PreviewColumn, ...]:
    described = zip(table.columns, roles, strict=True)
    return tuple(
        PreviewColumn(index, column.label, column.unit, role, column.rate_hz)
        for index, (column, role) in enumerate(described)
    )


def _first_numbers(samples: Sequence[np.ndarray]) -> tuple[tuple[str, ...], ...]:
    """The first samples of each signal as rows, for formats that are not written in rows."""
    return tuple(
        tuple(f"{values[row]:.6g}" if row < len(values) else "" for values in samples)
        for row in range(ROWS_SHOWN)
    )
