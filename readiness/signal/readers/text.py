"""CSV, TSV and other text captures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from readiness.signal.capture import PLACES_NAMED, Capture, Channel, Declared, Note
from readiness.signal.errors import CaptureRefused
from readiness.signal.time_steps import Steps, measure_steps

from .column_map import ColumnMap, signature_of
from .dialect import Sheet, open_sheet
from .facts import Facts, agree, merge, need_test, parse_facts
from .limits import check_rate, check_rate_can_be_judged
from .quoting import quoted
from .roles import Column, guess_roles, only_emg
from .table import check_readings, read_table
from .timeline import Layout, gap_notes, lay_out
from .units import Unit, find_unit, split_label, voltage_unit

NO_GAPS = np.zeros(0, dtype=np.int64)
RATE_ANSWER = (
    "Give it as a header line '# rate_hz: 1000', with a time column, on screen, or with --rate."
)


@dataclass(frozen=True)
class Plan:
    """What each column is, and which map said so (``None``: labels and units did)."""

    columns: tuple[Column, ...]
    roles: tuple[str, ...]
    map: ColumnMap | None


def read_text(name: str, data: bytes, declared: Declared) -> Capture:
    """Read a text capture (see ``readers.read_capture``)."""
    hint = declared.columns if isinstance(declared.columns, ColumnMap) else None
    sheet = open_sheet(data, hint.delimiter if hint else "", hint.decimal if hint else "")
    facts = merge(parse_facts(sheet.words), declared)
    plan = make_plan(sheet, hint)
    values = read_table(sheet)
    emg = only_emg(plan.columns, _without_empty(plan, values))
    unit = emg_unit(plan, emg, facts)
    steps, time_s = time_steps(plan, values, facts)
    rate = choose_rate(plan, facts, steps)
    test = need_test(facts.test)
    gap_after, gap_samples = (steps.gap_after, steps.gap_samples) if steps else (NO_GAPS, NO_GAPS)
    layout = lay_out(len(values), rate, gap_after, gap_samples, declared.window_start_s)
    notes = _hole_notes(values[:, emg], rate, layout, sheet.first_line)
    notes += gap_notes(gap_after, gap_samples, rate, layout)
    channels = _channels(plan, values, time_s, emg, unit, facts, rate, layout)
    judged = next(channel for channel in channels if channel.role == "emg")
    if not np.isfinite(judged.samples).any():
        raise CaptureRefused(
            f"The EMG column {quoted(judged.label)} holds no number in the ten seconds."
        )
    check_readings(judged.samples)
    return Capture(
        name,
        channels,
        judged,
        rate,
        kit=facts.kit,
        test=test,
        mains_hz=facts.mains_hz,
        battery_v=_battery(channels, facts),
        taken=facts.taken,
        notes=tuple(notes),
    )


def make_plan(sheet: Sheet, hint: ColumnMap | None) -> Plan:
    """Columns and their roles, by the column map if it fits this header, else by label and unit.

    Raises
    ------
    CaptureRefused
        ``missing="column"``: the text can be read in two ways, or several unnamed columns stand
        side by side.
    """
    columns = columns_of(sheet)
    fitting = (
        hint if hint is not None and hint.fits(signature_of(sheet.names, sheet.count)) else None
    )
    if fitting is not None:
        return Plan(columns, tuple(fitting.roles(len(columns))), fitting)
    if sheet.undecided:
        raise CaptureRefused(
            f"The rows ({quoted(sheet.sample[0])}) can be two columns or one with a decimal comma."
            " Add a row of column names, or say which it is (column map on screen).",
            missing="column",
        )
    if sheet.names is None and sheet.count > 1:
        raise CaptureRefused(
            f"The file has {sheet.count} columns without names. Add a row of names such as"
            " 't_s,emg,battery_v', or say which column is the EMG (column map on screen).",
            missing="column",
        )
    return Plan(columns, tuple(guess_roles(columns)), None)


def columns_of(sheet: Sheet) -> tuple[Column, ...]:
    """Columns as names row and units row describe them."""
    columns = []
    for index in range(sheet.count):
        label = sheet.names[index] if sheet.names else ""
        name, unit = split_label(label)
        below = (
            sheet.units[index].strip("()[] ") if sheet.units and index < len(sheet.units) else ""
        )
        if unit and below and find_unit(unit) != find_unit(below):
            raise CaptureRefused(
                f"Column {quoted(label)} has the unit {quoted(unit)} in its name and"
                f" {quoted(below)} below it."
            )
        columns.append(Column(index, label, name, unit or below))
    return tuple(columns)


def emg_unit(plan: Plan, emg: int, facts: Facts) -> Unit:
    """Unit of the EMG column: column, column map and header or operator must agree where they
    speak.
    """
    column = plan.columns[emg]
    text = column.unit
    said = plan.map.unit(column.index) if plan.map else ""
    for other in (said, facts.unit or ""):
        text = str(agree(f"the unit of {quoted(column.label)}", text or None, other or None) or "")
    return voltage_unit(
        text, f"the EMG column {quoted(column.label)}" if column.label else "the EMG column"
    )


def choose_rate(plan: Plan, facts: Facts, steps: Steps | None) -> float:
    """Samples per second by header or operator, column map, or time column; refuses with
    ``missing="rate"``.
    """
    mapped = plan.map.rate_hz if plan.map else None
    said = agree("rate_hz", facts.rate_hz, mapped)
    rate = float(str(said)) if said is not None else (steps.rate_hz if steps else None)
    if rate is None:
        if "time" in plan.roles:
            raise CaptureRefused(
                f"No rate: the time column has no steady step. {RATE_ANSWER}", missing="rate"
            )
        raise CaptureRefused(
            f"No rate: the file has neither a rate nor a time column. {RATE_ANSWER}", missing="rate"
        )
    check_rate(rate)
    check_rate_can_be_judged(rate)
    return rate


def _without_empty(plan: Plan, values: np.ndarray) -> list[str]:
    """Roles, with columns that have neither a name nor a number (a delimiter at the line's end) out
    of the choice.
    """
    roles = list(plan.roles)
    for column in plan.columns:
        if (
            not column.label
            and roles[column.index] == "emg"
            and np.isnan(values[:, column.index]).all()
        ):
            roles[column.index] = "other"
    return roles


def time_steps(
    plan: Plan, values: np.ndarray, facts: Facts
) -> tuple[Steps | None, np.ndarray | None]:
    """Steps of the time column and its seconds; ``None`` without one."""
    if "time" not in plan.roles:
        return None, None
    index = plan.roles.index("time")
    column = plan.columns[index]
    written = values[:, index]
    if np.isnan(written).any():
        row = int(np.flatnonzero(np.isnan(written))[0])
        raise CaptureRefused(f"The time column has no time in its row {row + 1} of numbers.")
    text = (plan.map.unit(index) if plan.map else "") or column.unit
    factor = _time_factor(
        written, find_unit(text), facts.rate_hz or (plan.map.rate_hz if plan.map else None), column
    )
    seconds = written if factor == 1.0 else written * factor
    return measure_steps(seconds), seconds


def _time_factor(
    written: np.ndarray, unit: Unit | None, rate_hz: float | None, column: Column
) -> float:
    if unit is not None:
        return unit.factor
    if rate_hz is not None:
        for factor in (1.0, 1e-3, 1e-6):
            steps = measure_steps(written * factor)
            if steps is not None and abs(steps.rate_hz / rate_hz - 1.0) < 0.1:
                return factor
    raise CaptureRefused(
        f"No rate: the time column {quoted(column.label)} does not say if it counts s or ms. Name"
        f" it 't_s' or 't_ms', or give the rate: {RATE_ANSWER}",
        missing="rate",
    )


def _hole_notes(emg: np.ndarray, rate: float, layout: Layout, first_line: int) -> list[Note]:
    """Notes on EMG cells that are empty or not finite, by stretch, with their lines."""
    empty = np.isnan(emg)
    if not empty.any():
        return []
    edges = np.flatnonzero(np.diff(np.concatenate(([False], empty, [False])).astype(np.int8)))
    notes = []
    inside = 0
    for begin, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        where = int(layout.positions[begin]) if layout.positions is not None else begin
        if not layout.start <= where < layout.stop:
            continue
        inside += 1
        if inside <= PLACES_NAMED:
            start_s = (where - layout.start) / rate
            lines = f"line {first_line + begin}" + (
                f" to {first_line + end - 1}" if end - begin > 1 else ""
            )
            text = (
                f"{end - begin} cell(s) of the EMG column hold no finite number ({lines}, at"
                f" {start_s:.4g} s)."
            )
            notes.append(Note("missing_samples", text, start_s, start_s + (end - begin) / rate))
    if inside > PLACES_NAMED:
        notes.append(
            Note("missing_samples", f"{inside - PLACES_NAMED} more places hold no finite number.")
        )
    return notes


def _channels(
    plan: Plan,
    values: np.ndarray,
    time_s: np.ndarray | None,
    emg: int,
    unit: Unit,
    facts: Facts,
    rate: float,
    layout: Layout,
) -> tuple[Channel, ...]:
    channels = []
    for column, role in zip(plan.columns, plan.roles, strict=True):
        index = column.index
        if index == emg:
            samples = _scaled(values[:, index], unit.factor)
            resolution = facts.resolution * unit.factor if facts.resolution else None
            scale = facts.full_scale
            full_scale = (scale[0] * unit.factor, scale[1] * unit.factor) if scale else None
            label = column.label or "emg"
            channels.append(
                Channel(
                    label, "emg", unit.text, rate, layout.place(samples), resolution, full_scale
                )
            )
            continue
        if not column.label and np.isnan(values[:, index]).all():
            continue
        channels.append(
            _other(plan, column, "other" if role == "emg" else role, values, time_s, rate, layout)
        )
    return tuple(channels)


def _other(
    plan: Plan,
    column: Column,
    role: str,
    values: np.ndarray,
    time_s: np.ndarray | None,
    rate: float,
    layout: Layout,
) -> Channel:
    label = column.label or f"column {column.index + 1}"
    text = (plan.map.unit(column.index) if plan.map else "") or column.unit
    unit = find_unit(text)
    if role == "time" and time_s is not None:
        return Channel(label, "time", unit.text if unit else "s", rate, layout.place(time_s))
    samples = values[:, column.index]
    if unit is not None and unit.kind == "voltage":
        samples = _scaled(samples, unit.factor * (1e-6 if role == "battery" else 1.0))
    return Channel(label, role, unit.text if unit else text, rate, layout.place(samples))


def _scaled(samples: np.ndarray, factor: float) -> np.ndarray:
    return samples if factor == 1.0 else samples * factor


def _battery(channels: Sequence[Channel], facts: Facts) -> np.ndarray | None:
    """Volts of the battery channel where it has some, else the one value of header or operator."""
    for channel in channels:
        if channel.role == "battery":
            volts: np.ndarray = channel.samples[np.isfinite(channel.samples)]
            if len(volts):
                return volts
    return None if facts.battery_v is None else np.array([facts.battery_v])
