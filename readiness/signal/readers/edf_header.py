"""Header arithmetic of EDF and BDF: every claim is checked against the file's size before memory is
taken.

Layout after Kemp et al., Electroenceph clin Neurophysiol 82 (1992) 391-393, and Kemp & Olivan, Clin
Neurophysiol 114 (2003) 1755-1761 (EDF+); BDF is the same with three bytes a sample.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, time

from readiness.signal.errors import CaptureRefused

from .limits import MAX_CHANNELS, check_rate, check_values

FIELDS = (16, 80, 8, 8, 8, 8, 8, 80, 8, 32)
"""Widths of the fields of a signal: label, transducer, unit, physical low and high, digital low and
high, prefilter, samples a record, reserved. All signals' labels stand first, then all transducers,
and so on.
"""
_INTEGER = re.compile(r"[+-]?\d{1,8}\Z", re.ASCII)
_FLOAT = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?\Z", re.ASCII)
_MONTHS = ("JAN", "FEB", "MAR", "APR", "MAY", "JUN", "JUL", "AUG", "SEP", "OCT", "NOV", "DEC")


@dataclass(frozen=True)
class Signal:
    """One signal as the header describes it. ``offset`` is its first byte within a record."""

    label: str
    unit: str
    physical: tuple[float, float]
    digital: tuple[int, int]
    samples: int
    offset: int
    is_annotation: bool

    @property
    def gain(self) -> float:
        """Physical units per digital step; negative where the polarity is inverted."""
        return (self.physical[1] - self.physical[0]) / (self.digital[1] - self.digital[0])


@dataclass(frozen=True)
class Header:
    """A header whose claims agree with the size of the file."""

    form: str
    patient: str
    recording: str
    started: datetime | None
    header_bytes: int
    records: int
    record_bytes: int
    record_s: float
    sample_bytes: int
    signals: tuple[Signal, ...]

    @property
    def discontinuous(self) -> bool:
        """Whether records may be apart in time (EDF+D, BDF+D)."""
        return self.form.endswith("+D")

    def rate_hz(self, signal: Signal) -> float:
        """Samples per second of a signal."""
        return signal.samples / self.record_s


def read_header(data: bytes, kind: str) -> Header:
    """Check and read the header of an EDF (``kind="edf"``) or BDF file.

    Raises
    ------
    CaptureRefused
        Any claim that is no number, cannot be, or does not agree with the size of the file;
        annotations only.
    """
    name = kind.upper()
    if len(data) < 256:
        raise CaptureRefused(
            f"The {name} file has {len(data)} bytes; its header alone takes 256. It is cut off."
        )
    count = _integer(data[252:256], "number of signals", name)
    if not 1 <= count <= MAX_CHANNELS:
        raise CaptureRefused(
            f"The {name} header claims {count} signals; 1 to {MAX_CHANNELS} are read."
        )
    header_bytes = _integer(data[184:192], "header size", name)
    if header_bytes != 256 * (count + 1):
        raise CaptureRefused(
            f"The {name} header claims {header_bytes} bytes for itself; {count} signals make it"
            f" {256 * (count + 1)}."
        )
    if len(data) < header_bytes:
        raise CaptureRefused(
            f"The {name} file has {len(data)} bytes; its header alone takes {header_bytes}. It is"
            " cut off."
        )
    sample_bytes = 3 if kind == "bdf" else 2
    signals = _signals(data[256:header_bytes], count, name, sample_bytes)
    record_s = _float(data[244:252], "duration of a record", name)
    records = _integer(data[236:244], "number of records", name)
    record_bytes = sample_bytes * sum(signal.samples for signal in signals)
    _check_size(len(data), header_bytes, records, record_bytes, name)
    if all(signal.is_annotation for signal in signals):
        raise CaptureRefused(f"The {name} file holds annotations only, no signal.")
    if record_s <= 0.0:
        raise CaptureRefused(
            f"The {name} header claims records of {record_s:g} s; a record with signals lasts"
            " longer."
        )
    check_values(records * sum(signal.samples for signal in signals if not signal.is_annotation))
    for signal in signals:
        if not signal.is_annotation:
            check_rate(signal.samples / record_s, f"Signal {signal.label!r}")
    reserved = _text(data[192:236])
    form = name + (reserved[3:5] if reserved[:5] in (f"{name}+C", f"{name}+D") else "")
    patient, recording = _text(data[8:88]), _text(data[88:168])
    started = _started(recording, _text(data[168:176]), _text(data[176:184]))
    return Header(
        form,
        patient,
        recording,
        started,
        header_bytes,
        records,
        record_bytes,
        record_s,
        sample_bytes,
        signals,
    )


def _check_size(size: int, header_bytes: int, records: int, record_bytes: int, name: str) -> None:
    if record_bytes < 1:
        raise CaptureRefused(f"The {name} header claims records without a sample.")
    there = (size - header_bytes) / record_bytes
    if records == -1:
        raise CaptureRefused(
            f"The {name} header leaves the number of records open (-1): the recording was never"
            " closed. Save it again."
        )
    if records < 1:
        raise CaptureRefused(
            f"The {name} header claims {records} records, so there is nothing to read."
        )
    expected = header_bytes + records * record_bytes
    if size != expected:
        what = (
            "shorter: it is cut off"
            if size < expected
            else "longer: header and data do not belong together"
        )
        raise CaptureRefused(
            f"The {name} header claims {records} records of {record_bytes} bytes, {expected} in"
            f" all; the file has {size} bytes ({there:.6g} records). It is {what}. Export the"
            " capture again."
        )


def _signals(block: bytes, count: int, name: str, sample_bytes: int) -> tuple[Signal, ...]:
    columns: list[list[bytes]] = []
    start = 0
    for width in FIELDS:
        columns.append([block[start + i * width : start + (i + 1) * width] for i in range(count)])
        start += width * count
    signals = []
    offset = 0
    for i in range(count):
        signal = _signal([column[i] for column in columns], i, offset, name, sample_bytes)
        signals.append(signal)
        offset += signal.samples * sample_bytes
    return tuple(signals)


def _signal(fields: list[bytes], index: int, offset: int, name: str, sample_bytes: int) -> Signal:
    label, unit = _text(fields[0]), _text(fields[2])
    what = f"signal {index + 1} ({label or 'no label'})"
    samples = _integer(fields[8], f"samples a record of {what}", name)
    if samples < 1:
        raise CaptureRefused(f"The {name} header claims {samples} samples a record for {what}.")
    annotation = label == f"{name} Annotations"
    if annotation:
        return Signal(label, unit, (-1.0, 1.0), (-1, 1), samples, offset, True)
    physical = (
        _float(fields[3], f"physical minimum of {what}", name),
        _float(fields[4], f"physical maximum of {what}", name),
    )
    digital = (
        _integer(fields[5], f"digital minimum of {what}", name),
        _integer(fields[6], f"digital maximum of {what}", name),
    )
    limit = 1 << (8 * sample_bytes - 1)
    if digital[0] >= digital[1] or digital[0] < -limit or digital[1] > limit - 1:
        raise CaptureRefused(
            f"The {name} header gives {what} the digital range {digital[0]} to {digital[1]}; it"
            f" must rise within {-limit} to {limit - 1}."
        )
    if physical[0] == physical[1]:
        raise CaptureRefused(
            f"The {name} header gives {what} one physical value, {physical[0]:g}, as minimum and"
            " maximum."
        )
    return Signal(label, unit, physical, digital, samples, offset, False)


def _started(recording: str, day: str, clock: str) -> datetime | None:
    """Start of the recording (local time): the four-digit date of EDF+ first, else the two-digit
    year rule.
    """
    when = _clock(clock)
    words = recording.split()
    if len(words) > 1 and words[0] == "Startdate":
        long = re.fullmatch(r"(\d{1,2})-([A-Za-z]{3})-(\d{4})", words[1])
        if long and long[2].upper() in _MONTHS:
            return _combine(int(long[3]), _MONTHS.index(long[2].upper()) + 1, int(long[1]), when)
        return None
    short = re.fullmatch(r"(\d{2})\.(\d{2})\.(\d{2})", day)
    if short is None or (day == "01.01.85" and clock == "00.00.00"):
        return None
    return _combine(full_year(int(short[3])), int(short[2]), int(short[1]), when)


def full_year(two_digits: int) -> int:
    """EDF+ year rule: 85 to 99 are 1985 to 1999, 00 to 84 are 2000 to 2084."""
    return two_digits + (1900 if two_digits >= 85 else 2000)


def _combine(year: int, month: int, day: int, when: time) -> datetime | None:
    try:
        return datetime.combine(date(year, month, day), when)
    except ValueError:
        return None


def _clock(text: str) -> time:
    parts = re.fullmatch(r"(\d{2})\.(\d{2})\.(\d{2})", text)
    try:
        return time(int(parts[1]), int(parts[2]), int(parts[3])) if parts else time(0)
    except ValueError:
        return time(0)


def _text(field: bytes) -> str:
    try:
        text = field.decode("utf-8")
    except UnicodeDecodeError:
        text = field.decode("latin-1")
    return "".join(c if c.isprintable() else "\ufffd" for c in text.strip(" \x00"))


def _integer(field: bytes, what: str, name: str) -> int:
    text = _text(field)
    if not _INTEGER.match(text):
        raise CaptureRefused(
            f"The {name} header gives {text!r} as {what}, which is no whole number."
        )
    return int(text)


def _float(field: bytes, what: str, name: str) -> float:
    text = _text(field)
    value = float(text) if _FLOAT.match(text) else float("inf")
    if abs(value) == float("inf"):
        raise CaptureRefused(f"The {name} header gives {text!r} as {what}, which is no number.")
    return value
