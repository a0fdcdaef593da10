"""The guard before EDF and BDF files: every claim of a header is checked against the file's size
before memory is taken, and every number of it is one.

Layout after Kemp et al., Electroenceph clin Neurophysiol 82 (1992) 391-393, and Kemp & Olivan, Clin
Neurophysiol 114 (2003) 1755-1761 (EDF+); BDF is the same with three bytes a sample. edfio reads a
sound header; it takes files that are cut off with a warning and numbers such as ``1_0`` or ``nan``
without a word, and its errors name no field, so the numbers are looked at here.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from readiness.signal.counts import counted
from readiness.signal.errors import CaptureRefused

from .limits import MAX_CHANNELS, check_rate, check_values

HEAD_BYTES = 256
"""The header takes so many bytes for the file and as many for each signal."""
SIGNAL_FIELDS = {
    "label": 16,
    "transducer": 80,
    "unit": 8,
    "physical minimum": 8,
    "physical maximum": 8,
    "digital minimum": 8,
    "digital maximum": 8,
    "prefilter": 80,
    "samples a record": 8,
    "reserved": 32,
}
"""Widths in their order. All signals' labels stand first, then all transducers, and so on."""
_INTEGER = re.compile(r"[+-]?\d{1,8}\Z", re.ASCII)
_FLOAT = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d{1,3})?\Z", re.ASCII)


@dataclass(frozen=True)
class RecordLayout:
    """Where the records of a file stand; all claims agree with its size.

    Attributes
    ----------
    form : str
        ``"EDF"``, ``"EDF+C"``, ``"EDF+D"``, or the same of BDF.
    header_bytes, records, record_bytes, record_s : int, float
        Size of the header; number, size and seconds of the records.
    signals : int
        How many signals are no annotations.
    timing : slice or None
        Bytes of the first annotation signal within a record, which say when it began.
    """

    form: str
    header_bytes: int
    records: int
    record_bytes: int
    record_s: float
    signals: int
    timing: slice | None

    @property
    def discontinuous(self) -> bool:
        """Whether records may be apart in time (EDF+D, BDF+D)."""
        return self.form.endswith("+D")


@dataclass(frozen=True)
class _SignalClaim:
    label: str
    samples: int
    is_annotation: bool


def check_header(data: bytes, kind: str) -> RecordLayout:
    """Check the header of an EDF (``kind="EDF"``) or BDF file.

    Raises
    ------
    CaptureRefused
        Any claim that is no number, cannot be, or does not agree with the size of the file;
        annotations only.
    """
    header_bytes, count = _header_size(data, kind)
    sample_bytes = 3 if kind == "BDF" else 2
    block = data[HEAD_BYTES:header_bytes]
    claims = [
        _signal_claim(_signal_fields(block, count, index), index, kind, sample_bytes)
        for index in range(count)
    ]
    record_s = _float(data[244:252], "duration of a record", kind)
    records = _integer(data[236:244], "number of records", kind)
    record_bytes = sample_bytes * sum(claim.samples for claim in claims)
    _check_size(len(data), header_bytes, records, record_bytes, kind)
    signals = [claim for claim in claims if not claim.is_annotation]
    _check_signals(signals, records, record_s, kind)
    return RecordLayout(
        form=_form(data[192:236], kind),
        header_bytes=header_bytes,
        records=records,
        record_bytes=record_bytes,
        record_s=record_s,
        signals=len(signals),
        timing=_timing(claims, sample_bytes),
    )


def _header_size(data: bytes, kind: str) -> tuple[int, int]:
    """Bytes of the header, and the number of signals they are for."""
    _check_whole(data, HEAD_BYTES, kind)
    count = _integer(data[252:256], "number of signals", kind)
    if not 1 <= count <= MAX_CHANNELS:
        raise CaptureRefused(
            f"The {kind} header claims {count} signals; 1 to {MAX_CHANNELS} are read. Export the"
            " capture again."
        )
    claimed = _integer(data[184:192], "header size", kind)
    needed = HEAD_BYTES * (count + 1)
    if claimed != needed:
        raise CaptureRefused(
            f"The {kind} header claims {counted(claimed, 'byte', 'bytes')} for itself;"
            f" {counted(count, 'signal makes', 'signals make')} it {needed}. Export the capture"
            " again."
        )
    _check_whole(data, needed, kind)
    return needed, count


def _check_whole(data: bytes, header_bytes: int, kind: str) -> None:
    if len(data) < header_bytes:
        raise CaptureRefused(
            f"The {kind} file has {counted(len(data), 'byte', 'bytes')}; its header alone takes"
            f" {header_bytes}. It is cut off. Export the capture again."
        )


def _signal_fields(block: bytes, count: int, index: int) -> dict[str, bytes]:
    fields = {}
    start = 0
    for name, width in SIGNAL_FIELDS.items():
        begin = start + index * width
        fields[name] = block[begin : begin + width]
        start += width * count
    return fields


def _signal_claim(
    fields: dict[str, bytes], index: int, kind: str, sample_bytes: int
) -> _SignalClaim:
    label = header_text(fields["label"])
    what = f"signal {index + 1} ({label or 'no label'})"
    samples = _integer(fields["samples a record"], f"samples a record of {what}", kind)
    if samples < 1:
        raise CaptureRefused(
            f"The {kind} header claims {samples} samples a record for {what}. Export the capture"
            " again."
        )
    if label == f"{kind} Annotations":
        return _SignalClaim(label, samples, is_annotation=True)
    _check_ranges(fields, what, kind, sample_bytes)
    return _SignalClaim(label, samples, is_annotation=False)


def _check_ranges(fields: dict[str, bytes], what: str, kind: str, sample_bytes: int) -> None:
    """Refuse ranges by which no code becomes a value."""
    low, high = (
        _float(fields[name], f"{name} of {what}", kind)
        for name in ("physical minimum", "physical maximum")
    )
    lowest, highest = (
        _integer(fields[name], f"{name} of {what}", kind)
        for name in ("digital minimum", "digital maximum")
    )
    limit = 1 << (8 * sample_bytes - 1)
    if lowest >= highest or lowest < -limit or highest > limit - 1:
        raise CaptureRefused(
            f"The {kind} header gives {what} the digital range {lowest} to {highest}; it must rise"
            f" within {-limit} to {limit - 1}. Export the capture again."
        )
    if low == high:
        raise CaptureRefused(
            f"The {kind} header gives {what} one physical value, {low:g}, as minimum and"
            " maximum. Export the capture again."
        )


def _check_size(size: int, header_bytes: int, records: int, record_bytes: int, kind: str) -> None:
    if records == -1:
        raise CaptureRefused(
            f"The {kind} header leaves the number of records open (-1): the recording was never"
            " closed. Save it again."
        )
    if records < 1:
        raise CaptureRefused(
            f"The {kind} header claims {records} records, so there is nothing to read. Export"
            " the capture again."
        )
    expected = header_bytes + records * record_bytes
    if size == expected:
        return
    records_in_file = (size - header_bytes) / record_bytes
    what = (
        "shorter: it is cut off"
        if size < expected
        else "longer: header and data do not belong together"
    )
    claimed = counted(records, "record", "records")
    raise CaptureRefused(
        f"The {kind} header claims {claimed} of {record_bytes} bytes, {expected} in all;"
        f" the file has {size} bytes ({records_in_file:.6g} records). It is {what}."
        " Export the capture again."
    )


def _check_signals(signals: list[_SignalClaim], records: int, record_s: float, kind: str) -> None:
    if not signals:
        raise CaptureRefused(
            f"The {kind} file holds annotations only, no signal. Export the capture again."
        )
    if record_s <= 0.0:
        raise CaptureRefused(
            f"The {kind} header claims records of {record_s:g} s; a record with signals lasts"
            " longer. Export the capture again."
        )
    check_values(records * sum(signal.samples for signal in signals))
    for signal in signals:
        check_rate(signal.samples / record_s, f"Signal {signal.label!r}")


def _timing(claims: list[_SignalClaim], sample_bytes: int) -> slice | None:
    offset = 0
    for claim in claims:
        size = claim.samples * sample_bytes
        if claim.is_annotation:
            return slice(offset, offset + size)
        offset += size
    return None


def _form(reserved: bytes, kind: str) -> str:
    form = header_text(reserved)[:5]
    return form if form in (f"{kind}+C", f"{kind}+D") else kind


def header_text(field: bytes) -> str:
    """A header field as text for a screen: UTF-8 or, as many programs write, Latin-1; what cannot
    be printed is replaced.
    """
    try:
        text = field.decode("utf-8")
    except UnicodeDecodeError:
        text = field.decode("latin-1")
    return printable(text)


def printable(text: str) -> str:
    """The text without the padding of its field, what cannot be printed replaced."""
    text = text.strip(" \x00")
    if text.isprintable():
        return text
    return "".join(c if c.isprintable() else "\ufffd" for c in text)


def _integer(field: bytes, what: str, kind: str) -> int:
    text = header_text(field)
    if not _INTEGER.match(text):
        raise CaptureRefused(
            f"The {kind} header gives {text!r} as {what}, which is no whole number. Export the"
            " capture again."
        )
    return int(text)


def _float(field: bytes, what: str, kind: str) -> float:
    text = header_text(field)
    value = float(text) if _FLOAT.match(text) else float("inf")
    if abs(value) == float("inf"):
        raise CaptureRefused(
            f"The {kind} header gives {text!r} as {what}, which is no number. Export the capture"
            " again."
        )
    return value
