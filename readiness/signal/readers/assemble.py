"""From a raw table to a ``Recording``: the one place where a file of any format becomes channels in
microvolts, volts and seconds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from readiness.signal.capture import FEWEST_AT_RAIL, Channel, Declared, Recording
from readiness.signal.errors import CaptureRefused

from .decide import Decisions, decide, is_blank, unit_text
from .facts import Facts
from .quoting import quoted
from .raw_table import Gaps, RawTable
from .ten_seconds import Layout, empty_cell_notes, gap_notes, lay_out
from .units import Unit, find_unit

LARGEST_UV = 1e15
"""No voltage in any unit; such a reading would overflow when squared."""
MICROVOLT_V = 1e-6
EXTREMES_SHARE = 2e-3
"""Eight characters of an EDF field leave three digits of a small range, rounded outwards."""


def assemble(name: str, table: RawTable, declared: Declared) -> Recording:
    """Make the capture of a file called ``name``.

    Raises
    ------
    CaptureRefused
        A fact that lacks, two that disagree, or samples that are no ten seconds of EMG.
    """
    decisions = decide(table, declared)
    table = decisions.table
    layouts = _layouts(table, decisions, declared.window_start_s)
    indices = [
        index for index in range(len(table.columns)) if not is_blank(table, table.readings, index)
    ]
    channels = {index: _channel(table, decisions, index, layouts[index]) for index in indices}
    emg, emg_layout = channels[decisions.emg], layouts[decisions.emg]
    _check_readings(emg, table.column_word)
    written = table.readings.samples[decisions.emg]
    notes = [
        *empty_cell_notes(written, emg_layout, table.first_line),
        *gap_notes(emg_layout),
        *table.readings.notes,
    ]
    facts = decisions.facts
    return Recording(
        name,
        tuple(channels.values()),
        emg,
        decisions.rate_hz,
        kit=facts.kit,
        test=decisions.test,
        mains_hz=facts.mains_hz,
        battery_v=_battery(list(channels.values()), facts),
        taken=facts.taken or table.started,
        notes=tuple(notes),
        converted=_converted(table, decisions, emg, emg_layout),
        recorded_hz=table.columns[decisions.emg].converter_hz,
    )


def _converted(
    table: RawTable, decisions: Decisions, emg: Channel, layout: Layout
) -> Channel | None:
    """The EMG with values of its converter; ``None`` where it has them."""
    column = table.columns[decisions.emg]
    if column.converter_hz is None:
        return None
    factor = _factor("emg", decisions.unit, decisions)
    return replace(
        emg,
        samples=layout.place(_scaled(table.readings.converted[decisions.emg], factor)),
        resolution=column.resolution * factor if column.resolution else None,
    )


def _layouts(
    table: RawTable, decisions: Decisions, window_start_s: float | None
) -> tuple[Layout, ...]:
    """Layout of each column; columns of one length and rate share theirs."""
    gaps = _gaps(table, decisions)
    shared: dict[tuple[int, float], Layout] = {}
    keys = [
        (len(samples), column.rate_hz or decisions.rate_hz)
        for samples, column in zip(table.readings.samples, table.columns, strict=True)
    ]
    for count, rate_hz in keys:
        if (count, rate_hz) not in shared:
            shared[count, rate_hz] = lay_out(count, rate_hz, gaps, window_start_s)
    return tuple(shared[key] for key in keys)


def _gaps(table: RawTable, decisions: Decisions) -> Gaps:
    """Gaps by the time column, else by the format itself."""
    steps = decisions.times.steps if decisions.times else None
    if steps is None:
        return table.readings.gaps
    at_s = (steps.gap_after + 1) / decisions.rate_hz
    return Gaps(at_s, steps.gap_samples / decisions.rate_hz)


def _channel(table: RawTable, decisions: Decisions, index: int, layout: Layout) -> Channel:
    column = table.columns[index]
    role = _role(decisions, index)
    text = unit_text(table, index, decisions.column_map)
    unit = decisions.unit if role == "emg" else find_unit(text)
    factor = _factor(role, unit, decisions)
    if unit is not None:
        text = unit.text
    elif role == "time":
        text = "s"
    resolution, full_scale = column.resolution, column.full_scale
    written = table.readings.samples[index]
    if role == "emg":
        resolution = resolution or decisions.facts.resolution
        full_scale = full_scale or decisions.facts.full_scale
        if full_scale and _is_own_extremes(written, *full_scale):
            full_scale = None
        if column.converter_hz is not None:
            # A filter leaves no converter's steps.
            resolution = None
    label = "emg" if role == "emg" else f"{table.column_word} {index + 1}"
    return Channel(
        column.label or label,
        role,
        text,
        layout.rate_hz,
        layout.place(_scaled(written, factor)),
        resolution * factor if resolution else None,
        (full_scale[0] * factor, full_scale[1] * factor) if full_scale else None,
    )


def _is_own_extremes(samples: np.ndarray, low: float, high: float) -> bool:
    """Whether a range is only that of the samples themselves, as some programs write it: reached
    at both ends, and nowhere stayed at. It then says nothing of the converter.
    """
    near = EXTREMES_SHARE * (high - low)
    at_low = np.count_nonzero(samples <= low + near)
    at_high = np.count_nonzero(samples >= high - near)
    return all(0 < count < FEWEST_AT_RAIL for count in (at_low, at_high))


def _role(decisions: Decisions, index: int) -> str:
    """Role of a channel: one is the EMG and one the time, further candidates are neither."""
    if index == decisions.emg:
        return "emg"
    if decisions.times is not None and index == decisions.times.index:
        return "time"
    role = decisions.roles[index]
    return "other" if role in ("emg", "time") else role


def _factor(role: str, unit: Unit | None, decisions: Decisions) -> float:
    """What leads from a column's numbers to those of its channel (see ``Channel.samples``)."""
    if role == "time":
        return decisions.times.factor if decisions.times else 1.0
    if unit is None or unit.kind != "voltage":
        return 1.0
    return unit.factor * MICROVOLT_V if role == "battery" else unit.factor


def _scaled(samples: np.ndarray, factor: float) -> np.ndarray:
    if factor == 1.0:
        return samples
    with np.errstate(over="ignore"):
        scaled: np.ndarray = samples * factor
    return scaled


def _check_readings(emg: Channel, column_word: str) -> None:
    """Refuse an EMG without a number, and one with a number that is no voltage."""
    largest = np.fmax.reduce(np.abs(emg.samples), initial=-1.0)
    if largest < 0.0:
        raise CaptureRefused(
            f"The EMG {column_word} {quoted(emg.label)} holds no number in the ten seconds."
            " Export another column, or the capture again."
        )
    if largest > LARGEST_UV:
        raise CaptureRefused(
            f"The EMG {column_word} holds a reading of {largest / 1e6:.3g} V, which is no voltage"
            " of a kit. Export the capture again, in microvolts."
        )


def _battery(channels: Sequence[Channel], facts: Facts) -> np.ndarray | None:
    """Volts of the battery channel where it has some, else the one value of header or operator."""
    for channel in channels:
        if channel.role == "battery":
            volts: np.ndarray = channel.samples[np.isfinite(channel.samples)]
            if len(volts):
                return volts
    return None if facts.battery_v is None else np.array([facts.battery_v])
