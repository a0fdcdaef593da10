"""WFDB records: a header and its one signal file, joined in a ZIP archive of the two.

The header is a guard and a description in one: nothing is read but the two members, and no name in
it is ever opened. The packed forms are whole numbers, which NumPy takes apart.
"""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import dataclass
from datetime import datetime
from functools import partial

import numpy as np

from readiness.signal.counts import counted
from readiness.signal.errors import CaptureRefused

from .edf_guard import header_text
from .heading import header_words
from .limits import MAX_BYTES, check_channels, check_rate, check_values
from .quoting import quoted
from .raw_table import FormatReader, RawColumn, RawTable, Readings
from .wfdb_packed import FORMATS, samples_of

MOST_HEADER_BYTES = 65_536
MOST_DIRECTORY_BYTES = 4096
MOST_FACTOR = 1e15
AGAIN = "Export the record again."
_RECORD = re.compile(
    r"(?P<name>[^\s/]+)(?P<parts>/\d+)?\s+(?P<signals>\d{1,4})(?:\s+(?P<rate>[\d.eE+-]{1,20})\S*)?"
    r"(?:\s+(?P<length>\d{1,12}))?(?:\s+(?P<time>[\d:.]+))?(?:\s+(?P<date>[\d/]+))?\s*\Z",
    re.ASCII,
)
_FORM = re.compile(
    r"(?P<form>\d{1,4})(?:x(?P<each>\d{1,4}))?(?::(?P<skew>\d{1,9}))?(?:\+(?P<skip>\d{1,9}))?\Z",
    re.ASCII,
)
_GAIN = re.compile(
    r"(?P<gain>[+-]?[\d.]{1,20}(?:[eE][+-]?\d{1,3})?)(?:\((?P<base>[+-]?\d{1,10})\))?(?:/(?P<unit>\S+))?\Z",
    re.ASCII,
)


@dataclass(frozen=True)
class _Signal:
    """One line of the header: ``each`` samples stand in a frame."""

    form: int
    each: int
    skip: int
    gain: float
    base: int
    unit: str
    bits: int
    zero: int
    checksum: int
    label: str
    file: str


def open_wfdb(data: bytes) -> RawTable:
    """Open a joined record.

    Raises
    ------
    CaptureRefused
        An archive of something else, a header that claims what cannot be, files that do not belong
        together.
    """
    header, packed = _members(data)
    lines = [line.strip() for line in header.replace("\r", "\n").split("\n") if line.strip()]
    comments = [line.lstrip("#") for line in lines if line.startswith("#")]
    plain = [line for line in lines if not line.startswith("#")]
    record = _RECORD.match(plain[0]) if plain else None
    if record is None:
        raise CaptureRefused(f"The WFDB header does not begin with a record line. {AGAIN}")
    if record["parts"]:
        raise CaptureRefused("The WFDB record has several parts. Export the ten seconds as one.")
    count, rate_hz = int(record["signals"]), _number(record["rate"] or "250", "rate")
    check_channels(count)
    if count == 0 or len(plain) - 1 != count:
        signals = counted(count, "signal", "signals")
        raise CaptureRefused(
            f"The WFDB header claims {signals} and describes {len(plain) - 1}. {AGAIN}"
        )
    signals_told = tuple(_signal(line, place) for place, line in enumerate(plain[1:], 1))
    frames = _frames(signals_told, int(record["length"] or 0), len(packed))
    for signal in signals_told:
        check_rate(rate_hz * signal.each, f"Signal {quoted(signal.label)}")
    return RawTable(
        format="WFDB",
        columns=tuple(_column(signal, rate_hz) for signal in signals_told),
        words=header_words(comments),
        load=partial(_read, packed, signals_told, frames),
        column_word="signal",
        emg_words="the signal",
        started=_started(record["time"], record["date"]),
    )


def _is_joined(head: bytes, name: str) -> bool:
    """An archive whose first member is a header or a signal file."""
    if not head.startswith(b"PK\x03\x04") or len(head) < 30:
        return False
    length = int.from_bytes(head[26:28], "little")
    return head[30 : 30 + length].lower().endswith((b".hea", b".dat"))


WFDB_READER = FormatReader(_is_joined, lambda data, column_map: open_wfdb(data))


def join(header_name: str, header: bytes, signal_name: str, packed: bytes) -> bytes:
    """The two files of a record as one archive: the same bytes for the same files."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_STORED) as archive:
        for name, data in ((header_name, header), (signal_name, packed)):
            archive.writestr(zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0)), data)
    return stream.getvalue()


def _members(data: bytes) -> tuple[str, bytes]:
    """Header text and signal bytes of an archive that holds nothing else."""
    end = data.rfind(b"PK\x05\x06")
    directory = int.from_bytes(data[end + 12 : end + 16], "little") if end >= 0 else 0
    wrong = "A WFDB record is one header (.hea) and its one signal file (.dat). Give these two."
    if end < 0 or directory > MOST_DIRECTORY_BYTES:
        raise CaptureRefused(f"The archive is damaged, or holds more than a record. {wrong}")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            members = [member for member in archive.infolist() if not member.is_dir()]
            headers = [m for m in members if m.filename.lower().endswith(".hea")]
            others = [m for m in members if m not in headers]
            if len(headers) != 1 or len(others) != 1:
                raise CaptureRefused(f"The archive holds other files than a record. {wrong}")
            header = _unpacked(archive, headers[0], MOST_HEADER_BYTES)
            return header_text_lines(header), _unpacked(archive, others[0], MAX_BYTES)
    except CaptureRefused:
        raise
    except Exception as error:  # zipfile, zlib and struct fail in many ways on damaged bytes
        raise CaptureRefused(f"The archive is damaged ({error}). {wrong}") from error


def header_text_lines(header: bytes) -> str:
    """The header as text; its line ends stay, what else cannot be printed is replaced."""
    return "\n".join(header_text(line) for line in re.split(rb"[\r\n]+", header))


def _unpacked(archive: zipfile.ZipFile, member: zipfile.ZipInfo, most: int) -> bytes:
    with archive.open(member) as stream:
        data = stream.read(most + 1)
    if len(data) > most:
        raise CaptureRefused(
            f"{quoted(member.filename)} has more than {most // 1024} KiB. Export the ten seconds"
            " of the test alone."
        )
    return data


def _signal(line: str, place: int) -> _Signal:
    """One signal line."""
    cells = line.split(None, 8)
    cells += [""] * (9 - len(cells))
    where = f"Signal {place} of the WFDB header"
    form = _FORM.match(cells[1])
    gain = _GAIN.match(cells[2] or "0")
    if form is None or gain is None:
        raise CaptureRefused(f"{where} cannot be understood: {quoted(line)}. {AGAIN}")
    if any(mark in cells[0] for mark in "/\\:~") or cells[0].startswith("."):
        raise CaptureRefused(
            f"{where} names a file outside the record: {quoted(cells[0])}. Name the signal file"
            " alone, without folders."
        )
    if int(form["form"]) not in FORMATS:
        listed = ", ".join(str(known) for known in FORMATS)
        raise CaptureRefused(
            f"{where} has the format {form['form']}; {listed} are read. Export it as format 16."
        )
    if int(form["skew"] or 0):
        raise CaptureRefused(f"{where} is skewed. Export the record without skew.")
    zero = _whole(cells[4])
    return _Signal(
        form=int(form["form"]),
        each=max(1, int(form["each"] or 1)),
        skip=int(form["skip"] or 0),
        gain=_number(gain["gain"], "gain"),
        base=int(gain["base"]) if gain["base"] else zero,
        unit=gain["unit"] or "mV",
        bits=min(32, max(0, _whole(cells[3]))),
        zero=zero,
        checksum=_whole(cells[6]),
        label=cells[8].strip() or f"signal {place}",
        file=cells[0],
    )


def _frames(signals: tuple[_Signal, ...], claimed: int, size: int) -> int:
    """Frames in the signal file; refused where header and file do not fit."""
    if len({(signal.file, signal.form, signal.skip) for signal in signals}) > 1:
        raise CaptureRefused(
            "The WFDB record has several signal files. Export it with all signals in one."
        )
    first = signals[0]
    in_frame = sum(signal.each for signal in signals)
    held = FORMATS[first.form].samples_in(max(0, size - first.skip)) // in_frame
    frames = claimed or held
    if frames > held or frames == 0:
        raise CaptureRefused(
            f"The WFDB header claims {counted(frames, 'frame', 'frames')}, its signal file holds"
            f" {held}: it is cut off, or belongs to another header. {AGAIN}"
        )
    check_values(frames * in_frame)
    return frames


def _column(signal: _Signal, rate_hz: float) -> RawColumn:
    calibrated = signal.gain != 0.0
    gain = signal.gain or 1.0
    full_scale = None
    if calibrated and signal.bits:
        half = 2 ** (signal.bits - 1)
        ends = [(signal.zero + code - signal.base) / gain for code in (-half, half - 1)]
        full_scale = (min(ends), max(ends))
    return RawColumn(
        label=signal.label,
        name=signal.label,
        unit=signal.unit if calibrated else "adu",
        rate_hz=rate_hz * signal.each,
        resolution=abs(1.0 / gain),
        full_scale=full_scale,
    )


def _read(packed: bytes, signals: tuple[_Signal, ...], frames: int) -> Readings:
    in_frame = sum(signal.each for signal in signals)
    form = FORMATS[signals[0].form]
    codes = samples_of(packed[signals[0].skip :], form, frames * in_frame)
    codes = codes.reshape(frames, in_frame)
    samples, begin = [], 0
    for signal in signals:
        own = codes[:, begin : begin + signal.each].reshape(-1)
        begin += signal.each
        if signal.checksum and (int(own.sum()) - signal.checksum) % 65_536:
            raise CaptureRefused(
                f"The checksum of signal {quoted(signal.label)} is not that of the signal file: it"
                f" is damaged, or belongs to another header. {AGAIN}"
            )
        values = (own - signal.base) / (signal.gain or 1.0)
        if form.lacking is not None:
            values[own == form.lacking] = np.nan
        samples.append(values)
    return Readings(tuple(samples))


def _started(time: str | None, date: str | None) -> datetime | None:
    try:
        return datetime.strptime(f"{date} {(time or '').split('.')[0]}", "%d/%m/%Y %H:%M:%S")
    except ValueError:
        return None


def _number(text: str, what: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = float("inf")
    if not abs(value) <= MOST_FACTOR:
        raise CaptureRefused(f"The WFDB header gives {quoted(text)} as {what}. {AGAIN}")
    return value


def _whole(text: str) -> int:
    return int(text) if re.fullmatch(r"[+-]?\d{1,10}", text, re.ASCII) else 0
