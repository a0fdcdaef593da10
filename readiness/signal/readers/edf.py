"""EDF, EDF+C, EDF+D, BDF and BDF+ captures: the header guard first, then edfio for all the rest."""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterator
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from readiness.signal.capture import Note
from readiness.signal.counts import counted
from readiness.signal.errors import CaptureRefused

from .edf_guard import RecordLayout, check_header, printable
from .facts import KEYS
from .quoting import quoted
from .raw_table import FormatReader, Gaps, RawColumn, RawTable, Readings

if TYPE_CHECKING:
    import edfio

    ParsedFile: TypeAlias = edfio.Edf | edfio.Bdf
    ParsedSignal: TypeAlias = edfio.EdfSignal | edfio.BdfSignal

NO_DATE = datetime(1985, 1, 1)
"""What files hold whose program knew no date."""
SMALLEST_GAP_S = 1e-6
_ONSET = re.compile(rb"([+-]\d{1,9}(?:\.\d{1,12})?)(?:\x15[\d.]+)?\x14")
_WORD = re.compile(r"(?P<key>[a-z_]+)=(?P<value>\S+)")


def open_edf(data: bytes, kind: str) -> RawTable:
    """Open an EDF (``kind="EDF"``) or BDF file.

    Raises
    ------
    CaptureRefused
        The header claims what cannot be, or edfio finds the file damaged.
    """
    layout = check_header(data, kind)
    recording = _parsed(data, kind, layout)
    return RawTable(
        format=layout.form,
        columns=tuple(_column(signal) for signal in recording.signals),
        words=_recording_words(recording.local_recording_identification),
        load=partial(_read, data, kind, layout, recording),
        column_word="signal",
        emg_words="the signal",
        started=_started(recording),
    )


def _is_edf(head: bytes, name: str) -> bool:
    """The version field (``0`` and seven spaces), and no line of text."""
    return head.startswith(b"0       ") and b"\n" not in head[:256]


def _is_bdf(head: bytes, name: str) -> bool:
    """The BDF identification: FF hex and seven capital letters."""
    letters = head[1:8]
    return head[:1] == b"\xff" and len(letters) == 7 and letters.isalpha() and letters.isupper()


EDF_READER = FormatReader(_is_edf, lambda data, column_map: open_edf(data, "EDF"))
BDF_READER = FormatReader(_is_bdf, lambda data, column_map: open_edf(data, "BDF"))


def _parsed(data: bytes, kind: str, layout: RecordLayout) -> ParsedFile:
    """The file as edfio reads it; any warning or failure of it after the guard means damage."""
    import edfio  # costs 30 ms, which a run over text captures need not pay

    read = edfio.read_bdf if kind == "BDF" else edfio.read_edf
    padded = _padded_with_blanks(data, layout.header_bytes)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            recording = read(padded, header_encoding=_encoding_of(padded[: layout.header_bytes]))
    except Exception as error:
        raise CaptureRefused(
            f"The {kind} file is damaged: {error}. Export the capture again."
        ) from error
    if len(recording.signals) != layout.signals:
        raise CaptureRefused(
            f"The {kind} file is damaged: {counted(layout.signals, 'signal', 'signals')} expected,"
            f" {len(recording.signals)} read. Export the capture again."
        )
    return recording


def _padded_with_blanks(data: bytes, header_bytes: int) -> bytes:
    """The file with blanks in its header where a program filled the fields up with zero bytes,
    which edfio does not take.
    """
    header = data[:header_bytes]
    if b"\x00" not in header:
        return data
    return header.replace(b"\x00", b" ") + data[header_bytes:]


def _encoding_of(header: bytes) -> str:
    """The layout asks for ASCII; programs write a micro sign in UTF-8 or in Latin-1."""
    try:
        header.decode("utf-8")
    except UnicodeDecodeError:
        return "latin-1"
    return "utf-8"


def _column(signal: ParsedSignal) -> RawColumn:
    label = printable(signal.label)
    low, high = signal.physical_range
    lowest, highest = signal.digital_range
    return RawColumn(
        label=label,
        name=label,
        unit=printable(signal.physical_dimension),
        rate_hz=signal.sampling_frequency,
        resolution=abs((high - low) / (highest - lowest)),
        full_scale=(min(low, high), max(low, high)),
    )


def _recording_words(recording: str) -> dict[str, str]:
    """The ``key=value`` words of a recording field that are header keys of Kitdesk; a key given
    twice with two values is refused.
    """
    words: dict[str, str] = {}
    for match in _WORD.finditer(printable(recording)):
        key, value = match["key"], match["value"]
        if key not in KEYS:
            continue
        if words.get(key, value) != value:
            raise CaptureRefused(
                f"The recording field says {key} twice: {quoted(words[key])} and"
                f" {quoted(value)}. Delete the word that is wrong."
            )
        words[key] = value
    return words


def _started(recording: ParsedFile) -> datetime | None:
    """Start of the recording (local time); ``None`` where the fields hold no date."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            started = recording.startdatetime
    except Exception:  # edfio fails in many ways on a field or annotation that is none
        return None
    return None if started == NO_DATE else started


def _read(data: bytes, kind: str, layout: RecordLayout, recording: ParsedFile) -> Readings:
    gaps, notes = _record_times(layout, data)
    try:
        samples = tuple(signal.data for signal in recording.signals)
    except Exception as error:
        raise CaptureRefused(
            f"The {kind} file is damaged: {error}. Export the capture again."
        ) from error
    return Readings(samples, gaps, notes)


def _record_times(layout: RecordLayout, data: bytes) -> tuple[Gaps, tuple[Note, ...]]:
    """Gaps between the records, and what else their times say. A file that calls itself continuous
    is believed in that only as far as its own times agree.

    Raises
    ------
    CaptureRefused
        A discontinuous file that does not say when its records began, or whose records overlap.
    """
    if layout.discontinuous:
        onsets = _record_onsets(layout, data)
    else:
        written = _written_onsets(layout, data)
        if written is None:
            return Gaps(), ()
        onsets = written
    apart_s = np.diff(onsets) - layout.record_s
    early = np.flatnonzero(apart_s < -SMALLEST_GAP_S * max(1.0, layout.record_s))
    if len(early) and layout.discontinuous:
        record = int(np.argmin(apart_s)) + 2
        raise CaptureRefused(
            f"Record {record} of the {layout.form} file begins before the one above it has"
            " ended. Export the capture again."
        )
    last_before = np.flatnonzero(apart_s > SMALLEST_GAP_S)
    gaps = Gaps((last_before + 1) * layout.record_s, apart_s[last_before])
    return gaps, tuple(_early_records(layout, onsets, early))


def _early_records(layout: RecordLayout, onsets: np.ndarray, early: np.ndarray) -> Iterator[Note]:
    """Records whose times repeat or go back, though the file calls itself continuous."""
    kinds = {"repeats the time of": onsets[early + 1] == onsets[early]}
    kinds["goes back behind"] = ~kinds["repeats the time of"]
    for what, chosen in kinds.items():
        records = early[chosen]
        if not len(records):
            continue
        first = int(records[0]) + 2
        more = len(records) - 1
        others = f", and so {counted(more, 'more does', 'more do')}" if more else ""
        start_s = (first - 1) * layout.record_s
        text = f"Record {first}, at {start_s:.4g} s, {what} the record before it{others}."
        yield Note("time_base", text, start_s, start_s)


def _written_onsets(layout: RecordLayout, data: bytes) -> np.ndarray | None:
    """When each record of a continuous file began, where all of them say it."""
    if layout.timing is None or layout.form[-2:] != "+C":
        return None
    try:
        return _record_onsets(layout, data)
    except CaptureRefused:
        return None


def _record_onsets(layout: RecordLayout, data: bytes) -> np.ndarray:
    """When each record began, shape (records,), seconds. edfio keeps these times to itself."""
    if layout.timing is None:
        raise CaptureRefused(
            f"The file is {layout.form} but holds no annotations that say when its records"
            " began. Export it again, with annotations or as CSV."
        )
    onsets = np.empty(layout.records)
    for record in range(layout.records):
        start = layout.header_bytes + record * layout.record_bytes
        annotation = data[start + layout.timing.start : start + layout.timing.stop]
        onset = _ONSET.match(annotation)
        if onset is None:
            raise CaptureRefused(
                f"Record {record + 1} of the {layout.form} file does not say when it began."
                " Export the capture again."
            )
        onsets[record] = float(onset[1])
    return onsets
