"""EDF, EDF+C, EDF+D, BDF and BDF+ captures: the header guard first, then edfio for the samples."""

from __future__ import annotations

import re
import warnings
from collections.abc import Sequence

import edfio
import numpy as np

from readiness.signal.capture import Capture, Channel, Declared, Note
from readiness.signal.errors import CaptureRefused

from .column_map import ColumnMap, signature_of
from .edf_header import Header, Signal, read_header
from .facts import KEYS, Facts, agree, merge, need_test, parse_facts
from .limits import check_rate_can_be_judged
from .quoting import quoted
from .roles import Column, guess_roles, only_emg
from .timeline import Layout, gap_notes, lay_out
from .units import Unit, find_unit, voltage_unit

_ONSET = re.compile(rb"([+-]\d{1,9}(?:\.\d{1,12})?)(?:\x15[\d.]+)?\x14")
_WORD = re.compile(r"(?P<key>[a-z_]+)=(?P<value>\S+)")


def read_edf(name: str, data: bytes, kind: str, declared: Declared) -> Capture:
    """Read an EDF or BDF capture (see ``readers.read_capture``)."""
    header = read_header(data, kind)
    signals = [signal for signal in header.signals if not signal.is_annotation]
    facts = merge(parse_facts(recording_words(header.recording)), declared)
    columns = columns_of(signals)
    hint = declared.columns if isinstance(declared.columns, ColumnMap) else None
    fitting = (
        hint if hint and hint.fits(signature_of([s.label for s in signals], len(signals))) else None
    )
    roles = fitting.roles(len(columns)) if fitting else guess_roles(columns)
    emg = only_emg(columns, roles)
    unit = emg_unit(columns[emg], fitting, facts)
    rate = check_stated_rate(header.rate_hz(signals[emg]), facts, fitting)
    test = need_test(facts.test)
    gap_after, gap_s = record_gaps(header, data)
    layouts = [
        _lay_out(header, signal, gap_after, gap_s, declared.window_start_s) for signal in signals
    ]
    digital = digital_signals(data, kind, len(signals))
    channels = tuple(
        _channel(
            signal,
            "emg" if i == emg else ("other" if roles[i] == "emg" else roles[i]),
            unit,
            header,
            digital[i],
            layout,
        )
        for i, (signal, layout) in enumerate(zip(signals, layouts, strict=True))
    )
    notes = _notes(header, signals[emg], gap_after, gap_s, layouts[emg])
    return Capture(
        name,
        channels,
        channels[emg],
        rate,
        kit=facts.kit,
        test=test,
        mains_hz=facts.mains_hz,
        battery_v=_battery(channels, facts),
        taken=facts.taken or header.started,
        notes=tuple(notes),
    )


def recording_words(recording: str) -> dict[str, str]:
    """The ``key=value`` words of a recording field that are header keys of Kitdesk; a key said
    twice is refused.
    """
    words: dict[str, str] = {}
    for match in _WORD.finditer(recording):
        key, value = match["key"], match["value"]
        if key in KEYS:
            if words.get(key, value) != value:
                raise CaptureRefused(
                    f"The recording field says {key} twice: {quoted(words[key])} and"
                    f" {quoted(value)}."
                )
            words[key] = value
    return words


def columns_of(signals: Sequence[Signal]) -> tuple[Column, ...]:
    """Signals as columns for the choice of roles."""
    return tuple(
        Column(i, signal.label, signal.label, signal.unit) for i, signal in enumerate(signals)
    )


def emg_unit(column: Column, fitting: ColumnMap | None, facts: Facts) -> Unit:
    """Unit of the EMG signal: header, column map and operator must agree where they speak."""
    text = column.unit
    for other in (fitting.unit(column.index) if fitting else "", facts.unit or ""):
        text = str(agree(f"the unit of {quoted(column.label)}", text or None, other or None) or "")
    return voltage_unit(text, f"the signal {quoted(column.label)}")


def check_stated_rate(rate: float, facts: Facts, fitting: ColumnMap | None) -> float:
    """Rate of the EMG signal by the header; another rate in words, map or by the operator is
    refused, both named.
    """
    for said in (facts.rate_hz, fitting.rate_hz if fitting else None):
        agree("rate_hz", rate, said)
    check_rate_can_be_judged(rate)
    return rate


def record_gaps(header: Header, data: bytes) -> tuple[np.ndarray, np.ndarray]:
    """Gaps between records of a discontinuous file.

    Returns
    -------
    tuple of numpy.ndarray
        Index of the record before each gap, and seconds that lack after it.

    Raises
    ------
    CaptureRefused
        A discontinuous file that does not say when its records began, or whose records overlap.
    """
    if not header.discontinuous:
        return np.zeros(0, dtype=np.int64), np.zeros(0)
    timing = next((signal for signal in header.signals if signal.is_annotation), None)
    if timing is None:
        raise CaptureRefused(
            f"The file is {header.form} but holds no annotations that say when its records began."
        )
    onsets = np.empty(header.records)
    for record in range(header.records):
        start = header.header_bytes + record * header.record_bytes + timing.offset
        found = _ONSET.match(data[start : start + timing.samples * header.sample_bytes])
        if found is None:
            raise CaptureRefused(
                f"Record {record + 1} of the {header.form} file does not say when it began."
            )
        onsets[record] = float(found[1])
    apart = np.diff(onsets) - header.record_s
    if (apart < -1e-6 * max(1.0, header.record_s)).any():
        record = int(np.argmin(apart)) + 2
        raise CaptureRefused(
            f"Record {record} of the {header.form} file begins before the one above it has ended."
        )
    gaps = np.flatnonzero(apart > 1e-6)
    return gaps, apart[gaps]


def _lay_out(
    header: Header,
    signal: Signal,
    gap_after: np.ndarray,
    gap_s: np.ndarray,
    window_start_s: float | None,
) -> Layout:
    rate = header.rate_hz(signal)
    lacking = np.rint(np.minimum(gap_s * rate, 1e9)).astype(np.int64)
    after = (gap_after + 1) * signal.samples - 1
    return lay_out(
        header.records * signal.samples, rate, after, lacking, window_start_s, float(gap_s.sum())
    )


def _notes(
    header: Header, signal: Signal, gap_after: np.ndarray, gap_s: np.ndarray, layout: Layout
) -> list[Note]:
    rate = header.rate_hz(signal)
    lacking = np.rint(np.minimum(gap_s * rate, 1e9)).astype(np.int64)
    return gap_notes((gap_after + 1) * signal.samples - 1, lacking, rate, layout)


def digital_signals(
    data: bytes, kind: str, count: int
) -> Sequence[edfio.EdfSignal | edfio.BdfSignal]:
    """The signals as edfio reads them; any warning or failure of it after the guard means a damaged
    file.
    """
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            recording = edfio.read_bdf(data) if kind == "bdf" else edfio.read_edf(data)
            signals = recording.signals
    except Exception as error:
        raise CaptureRefused(f"The {kind.upper()} file is damaged: {error}.") from error
    if len(signals) != count:
        raise CaptureRefused(
            f"The {kind.upper()} file is damaged: {count} signals expected, {len(signals)} read."
        )
    return signals


def _channel(
    signal: Signal,
    role: str,
    emg: Unit,
    header: Header,
    source: edfio.EdfSignal | edfio.BdfSignal,
    layout: Layout,
) -> Channel:
    unit = emg if role == "emg" else find_unit(signal.unit)
    factor = 1.0
    if unit is not None and unit.kind == "voltage":
        factor = unit.factor * (1e-6 if role == "battery" else 1.0)
    elif unit is not None and role == "time":
        factor = unit.factor
    physical = source.data
    low, high = sorted(signal.physical)
    return Channel(
        signal.label,
        role,
        unit.text if unit else signal.unit,
        header.rate_hz(signal),
        layout.place(physical if factor == 1.0 else physical * factor),
        abs(signal.gain) * factor,
        (low * factor, high * factor),
    )


def _battery(channels: Sequence[Channel], facts: Facts) -> np.ndarray | None:
    for channel in channels:
        if channel.role == "battery":
            volts: np.ndarray = channel.samples[np.isfinite(channel.samples)]
            if len(volts):
                return volts
    return None if facts.battery_v is None else np.array([facts.battery_v])
