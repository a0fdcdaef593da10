"""What a raw table leaves open, decided once for every format: roles, unit, times, rate.

Each decision weighs the file, the column map and the operator, and refuses with the one fact that
lacks. Nothing is guessed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from readiness.signal.capture import Declared, need_test
from readiness.signal.errors import MISSING_COLUMN, CaptureRefused
from readiness.signal.time_steps import Steps, measure_steps

from .column_map import ColumnMap
from .facts import Facts, agree, agree_on_unit, merge, parse_facts
from .limits import check_rate, check_rate_can_be_judged
from .named_columns import NamedTable, name_columns
from .quoting import quoted
from .raw_table import RawColumn, RawTable, Readings
from .roles import guess_roles, only_emg
from .units import Unit, find_unit, same_unit, voltage_unit

RATE_ANSWER = (
    "Give it as a header line '# rate_hz: 1000', with a time column, on screen, or with --rate."
)
TIME_FACTORS = (1.0, 1e-3, 1e-6)
CLOSE_RATE = 0.1
"""A time column without a unit counts in the unit by which it comes so near to the stated rate."""


@dataclass(frozen=True, eq=False)
class TimeColumn:
    """The time column: its index, the seconds that one of its numbers stands for, and its steps,
    which are ``None`` where they are not steady or not needed.
    """

    index: int
    factor: float
    steps: Steps | None


@dataclass(frozen=True, eq=False)
class Decisions:
    """All that was decided about ``table``, whose columns carry the units they were named with.
    ``emg`` is the index of the EMG column; ``unit`` and
    ``rate_hz`` are the EMG's; ``facts`` are those of the file and the operator together.
    """

    table: RawTable
    facts: Facts
    column_map: ColumnMap | None
    roles: tuple[str, ...]
    emg: int
    unit: Unit
    times: TimeColumn | None
    rate_hz: float
    test: str | None


def decide(table: RawTable, declared: Declared) -> Decisions:
    """Everything that a capture needs and a table leaves open.

    Raises
    ------
    CaptureRefused
        The first fact that lacks, or the first two that disagree.
    """
    facts = merge(parse_facts(table.words), declared)
    column_map = fitting_map(table, declared)
    named = name_columns(table, declared)
    table = named.table
    roles = decide_roles(named, column_map)
    emg = decide_emg(table, roles, table.readings)
    unit = decide_unit(table, emg, column_map, facts)
    times = find_times(table, roles, column_map, facts)
    rate_hz = decide_rate(table, roles, emg, column_map, facts, times)
    test = facts.test if declared.test_follows else need_test(facts.test)
    return Decisions(table, facts, column_map, roles, emg, unit, times, rate_hz, test)


def declared_map(declared: Declared) -> ColumnMap | None:
    """The operator's column map."""
    return declared.columns if isinstance(declared.columns, ColumnMap) else None


def fitting_map(table: RawTable, declared: Declared) -> ColumnMap | None:
    """The operator's column map, if it was made for files with this header."""
    column_map = declared_map(declared)
    return column_map if column_map and column_map.fits(table.signature) else None


def check_units(columns: Sequence[RawColumn]) -> None:
    """Refuse a unit in a column's name that is not the one below it."""
    for column in columns:
        if column.unit_below and not same_unit(column.unit, column.unit_below):
            raise CaptureRefused(
                f"Column {quoted(column.label)} has the unit {quoted(column.unit)} in its name and"
                f" {quoted(column.unit_below)} below it. Delete the one that is wrong."
            )


def decide_roles(named: NamedTable, column_map: ColumnMap | None) -> tuple[str, ...]:
    """Role of each column: as the operator names it, by the column map, else by label and unit.

    Raises
    ------
    CaptureRefused
        ``missing="column"``: the text can be read in two ways, or several unnamed columns stand
        side by side.
    """
    table = named.table
    check_units(table.columns)
    if column_map is not None:
        return named.roles(column_map.roles(len(table.columns)))
    if table.ambiguous_row and not any(named.named):
        raise CaptureRefused(
            f"The rows ({quoted(table.ambiguous_row)}) can be two columns or one with a decimal"
            " comma.",
            missing=MISSING_COLUMN,
            answer=(
                "Add a row of column names; or, where they are two columns, name the second with"
                " --emg-column 2; or give a column map (--map)."
            ),
        )
    told = [index for index, column in enumerate(table.columns) if column.name in ("time", "date")]
    left = len(table.columns) - len({*named.named, *told})
    if not table.has_names and left > 1 and "emg" not in named.named.values():
        raise CaptureRefused(
            f"The file has {len(table.columns)} columns without names.",
            missing=MISSING_COLUMN,
            answer=(
                "Add a row of names such as 't_s,emg,battery_v', or say by its number which column"
                " is the EMG: --emg-column 2."
            ),
        )
    return named.roles(guess_roles(table.columns))


def decide_emg(table: RawTable, roles: Sequence[str], readings: Readings) -> int:
    """Index of the EMG column. Columns with neither a name nor a number, which a delimiter at a
    line's end makes, are out of the choice.
    """
    left = [
        "other" if role == "emg" and is_blank(table, readings, index) else role
        for index, role in enumerate(roles)
    ]
    return only_emg(table.columns, left)


def is_blank(table: RawTable, readings: Readings, index: int) -> bool:
    """Whether a column has neither a name nor a number."""
    if table.columns[index].label:
        return False
    return bool(np.isnan(readings.samples[index]).all())


def decide_unit(table: RawTable, emg: int, column_map: ColumnMap | None, facts: Facts) -> Unit:
    """Unit of the EMG: column, column map, and header or operator must agree where they speak."""
    column = table.columns[emg]
    if column.of_full_scale:
        return _unit_of_full_scale(column, column_map, facts)
    key = f"the unit of {quoted(column.label)}"
    text: str | None = column.unit
    for answer in (column_map.unit(emg) if column_map else "", facts.unit):
        text = agree_on_unit(key, text, answer)
    subject = f"{table.emg_words} {quoted(column.label)}" if column.label else table.emg_words
    return voltage_unit(text or "", subject)


def _unit_of_full_scale(column: RawColumn, column_map: ColumnMap | None, facts: Facts) -> Unit:
    """What stands for fractions: the voltage at full scale."""
    scale_uv = facts.full_scale_uv or (column_map.full_scale_uv if column_map else None)
    if scale_uv is None:
        raise CaptureRefused(
            f"No scale: {quoted(column.label)} holds fractions of a full scale, as sound does.",
            missing="scale",
            answer="Give the voltage at the electrodes that fills it: --full-scale 5mV.",
        )
    return Unit("full scale", "voltage", scale_uv)


def unit_text(table: RawTable, index: int, column_map: ColumnMap | None) -> str:
    """Unit of a column other than the EMG: the map's, else the file's."""
    mapped = column_map.unit(index) if column_map else ""
    return mapped or table.columns[index].unit


def find_times(
    table: RawTable, roles: Sequence[str], column_map: ColumnMap | None, facts: Facts
) -> TimeColumn | None:
    """The first time column; ``None`` without one, and where it only numbers the seconds, so that
    many rows share one: that places no sample.

    Raises
    ------
    CaptureRefused
        A row without a time; ``missing="rate"`` where the column may count s or ms.
    """
    if "time" not in roles:
        return None
    index = roles.index("time")
    written = table.readings.samples[index]
    if np.isnan(written).any():
        row = int(np.flatnonzero(np.isnan(written))[0])
        raise CaptureRefused(
            f"The time column has no time in its row {row + 1} of numbers. Export the capture"
            " again with a time in each row."
        )
    factor = _time_factor(table, index, column_map, facts)
    if table.has_own_rates:
        return TimeColumn(index, factor, None)
    seconds = written if factor == 1.0 else written * factor
    stated = facts.rate_hz or (column_map.rate_hz if column_map else None)
    steps = measure_steps(seconds, stated)
    if steps is None and 2 * np.count_nonzero(np.diff(written) == 0.0) > len(written):
        return None
    return TimeColumn(index, factor, steps)


def decide_rate(
    table: RawTable,
    roles: Sequence[str],
    emg: int,
    column_map: ColumnMap | None,
    facts: Facts,
    times: TimeColumn | None,
) -> float:
    """Samples per second of the EMG: by the format, by header or operator, by the column map, else
    by the time column. Those that speak must agree.

    Raises
    ------
    CaptureRefused
        Two that differ; ``missing="rate"`` where nothing speaks; a rate that cannot be judged.
    """
    mapped = column_map.rate_hz if column_map else None
    column = table.columns[emg]
    rate = agree("rate_hz", column.converter_hz or column.rate_hz, facts.rate_hz)
    rate = agree("rate_hz", rate, mapped)
    if column.converter_hz is not None:
        rate = column.rate_hz
    if rate is None and times is not None and times.steps is not None:
        rate = times.steps.rate_hz
    if rate is None:
        reason = "the file has neither a rate nor a time column"
        if "time" in roles:
            reason = _why_no_step(table, roles.index("time"))
        raise CaptureRefused(f"No rate: {reason}.", missing="rate", answer=RATE_ANSWER)
    check_rate(rate)
    check_rate_can_be_judged(rate)
    return float(rate)


def _why_no_step(table: RawTable, index: int) -> str:
    """Why a time column does not give the rate."""
    steps = np.diff(table.readings.samples[index])
    alike = int(np.count_nonzero(steps == 0.0))
    label = quoted(table.columns[index].label or f"column {index + 1}")
    if 2 * alike > len(steps) > 0:
        rows = len(steps) / max(1, len(steps) - alike)
        return f"in the time column {label} about {rows:.0f} rows share each time"
    return f"the time column {label} has no steady step"


def _time_factor(table: RawTable, index: int, column_map: ColumnMap | None, facts: Facts) -> float:
    """Seconds that one step of the written numbers stands for."""
    unit = find_unit(unit_text(table, index, column_map))
    if unit is not None and unit.kind == "time":
        return unit.factor
    if table.has_own_rates:
        return 1.0
    stated = facts.rate_hz or (column_map.rate_hz if column_map else None)
    if stated is not None:
        for factor in TIME_FACTORS:
            steps = measure_steps(table.readings.samples[index] * factor)
            if steps is not None and abs(steps.rate_hz / stated - 1.0) < CLOSE_RATE:
                return factor
    raise CaptureRefused(
        f"No rate: the time column {quoted(table.columns[index].label)} does not say if it counts s"
        " or ms.",
        missing="rate",
        answer=f"Name it 't_s' or 't_ms', or give the rate: {RATE_ANSWER}",
    )
