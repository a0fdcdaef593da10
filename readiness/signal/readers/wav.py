"""Sound recordings (WAV) of a sound-card adapter: fractions of a full scale somebody must give.

The chunks are looked at first, SciPy reads the samples. At the rates of sound cards they are
decimated; samples as the converter gave them are handed on beside, for a filter hides its faults.
"""

from __future__ import annotations

import io
import struct
import warnings
from dataclasses import dataclass
from functools import partial

import numpy as np

from readiness.signal.errors import CaptureRefused

from .decimation import Decimation
from .limits import MAX_RATE_HZ, check_channels, check_rate, check_values
from .raw_table import FormatReader, RawColumn, RawTable, Readings

PLAIN, FLOAT, EXTENDED = 1, 3, 0xFFFE
BITS = {PLAIN: (8, 16, 24, 32), FLOAT: (32, 64), EXTENDED: (8, 16, 24, 32, 64)}
MOST_CHUNKS = 64
MAX_SOUND_HZ = 192_000.0
AGAIN = "Export it as plain WAV of 16 or 24 bits."


@dataclass(frozen=True)
class _Shape:
    """What the format chunk says."""

    channels: int
    rate_hz: int
    bits: int
    is_float: bool

    @property
    def decimation(self) -> Decimation | None:
        """How it comes down to a rate of captures, where it is above them."""
        return Decimation(float(self.rate_hz)) if self.rate_hz > MAX_RATE_HZ else None


def open_wav(data: bytes) -> RawTable:
    """Open a WAV file.

    Raises
    ------
    CaptureRefused
        A compressed or damaged file, more channels or a higher rate than are read.
    """
    shape, size = _checked(data)
    names = ("sound",) if shape.channels == 1 else ("left", "right")
    labels = [
        names[i] if shape.channels <= 2 else f"channel {i + 1}" for i in range(shape.channels)
    ]
    step = None if shape.is_float else 2.0 ** (1 - shape.bits)
    fewer = shape.decimation
    columns = tuple(
        RawColumn(
            label,
            label,
            "",
            rate_hz=fewer.rate_hz if fewer else float(shape.rate_hz),
            converter_hz=float(shape.rate_hz) if fewer else None,
            resolution=step,
            full_scale=(-1.0, 1.0 - step) if step else None,
            of_full_scale=True,
        )
        for label in labels
    )
    check_values(size // (shape.bits // 8))
    return RawTable(
        format="WAV",
        columns=columns,
        words={},
        load=partial(_read, data, shape),
        column_word="channel",
        emg_words="the channel",
    )


def _is_wav(head: bytes, name: str) -> bool:
    return head[:4] == b"RIFF" and head[8:12] == b"WAVE"


WAV_READER = FormatReader(_is_wav, lambda data, column_map: open_wav(data))


def _checked(data: bytes) -> tuple[_Shape, int]:
    """The shape of the samples and their bytes, by chunks that lie inside the file."""
    offset, shape = 12, None
    for _ in range(MOST_CHUNKS):
        if offset + 8 > len(data):
            break
        kind, size = struct.unpack_from("<4sI", data, offset)
        offset += 8
        if kind == b"fmt " and size >= 16 and offset + 16 <= len(data):
            shape = _shape_of(data, offset, size)
        elif kind == b"data" and shape is not None:
            if size > len(data) - offset:
                raise CaptureRefused(
                    f"The WAV file claims {size} bytes of samples and holds {len(data) - offset}:"
                    " it is cut off. Export it again."
                )
            if size % (shape.channels * shape.bits // 8):
                raise CaptureRefused(
                    "The WAV file ends amid a sample: it is cut off. Export it again."
                )
            return shape, size
        offset += size + size % 2
    raise CaptureRefused(f"The WAV file has no format or no samples: it is damaged. {AGAIN}")


def _shape_of(data: bytes, offset: int, size: int) -> _Shape:
    code, channels, rate_hz, _, block, bits = struct.unpack_from("<HHIIHH", data, offset)
    if code not in BITS or bits not in BITS[code]:
        raise CaptureRefused(f"The WAV file is compressed (coding {code}, {bits} bits). {AGAIN}")
    if channels == 0 or block != channels * bits // 8:
        raise CaptureRefused(f"The WAV header contradicts itself: it is damaged. {AGAIN}")
    check_channels(channels)
    check_rate(rate_hz, most_hz=MAX_SOUND_HZ)
    is_float = code == FLOAT
    if code == EXTENDED and size >= 26 and offset + 26 <= len(data):
        is_float = struct.unpack_from("<H", data, offset + 24)[0] == FLOAT
    return _Shape(channels, rate_hz, bits, is_float)


def _read(data: bytes, shape: _Shape) -> Readings:
    from scipy.io import wavfile  # costs half a second, which other captures need not pay

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            _, samples = wavfile.read(io.BytesIO(data))
    except Exception as error:
        raise CaptureRefused(f"The WAV file is damaged: {error}. Export it again.") from error
    rows = samples.reshape(len(samples), -1)
    if rows.shape[1] != shape.channels:
        raise CaptureRefused(f"The WAV header contradicts itself: it is damaged. {AGAIN}")
    fractions = rows.astype(np.float64)
    if samples.dtype == np.uint8:
        fractions = (fractions - 128.0) / 128.0
    elif samples.dtype.kind == "i":
        fractions /= -float(np.iinfo(samples.dtype).min)
    whole = tuple(np.where(np.isfinite(column), column, np.nan) for column in fractions.T)
    fewer = shape.decimation
    if fewer is None:
        return Readings(whole)
    picked = tuple(column[:: fewer.factor] for column in whole)
    return Readings(tuple(fewer.apply(column) for column in whole), converted=picked)
