"""Sound files, WFDB records and clock-stamped texts made to hurt a reader."""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Callable

import numpy as np

from readiness.signal.readers import join

MIB = 2**20
QUIET = bytes(160_000)
CODES = np.random.default_rng(2).integers(-300, 300, 3000).astype("<i2").tobytes()
RECORD = "rec 1 300 3000"
SIGNAL = "rec.dat 16 100/uV 0 0 0 0 0 EMG"


def wav(
    data: bytes = QUIET,
    *,
    code: int = 1,
    channels: int = 1,
    rate: int = 8000,
    bits: int = 16,
    claim: int | None = None,
    between: bytes = b"",
    shape_bytes: int = 16,
) -> bytes:
    """A WAV file whose fields may lie."""
    block = channels * bits // 8
    fields = (code, channels, rate, rate * block % 2**32, block % 2**16, bits)
    shape = struct.pack("<HHIIHH", *fields) + bytes(shape_bytes - 16)
    size = len(data) if claim is None else claim
    body = b"WAVEfmt " + struct.pack("<I", shape_bytes) + shape + between
    body += b"data" + struct.pack("<I", size) + data
    return b"RIFF" + struct.pack("<I", len(body)) + body


def floats(*values: float, count: int = 40_000, size: int = 4) -> bytes:
    return np.tile(np.array(values, dtype=f"<f{size}"), count).tobytes()


def record(*lines: str, packed: bytes = CODES) -> bytes:
    """A joined WFDB record of these header lines."""
    return join("rec.hea", "\n".join(lines).encode(), "rec.dat", packed)


def archive(*members: tuple[str, bytes]) -> bytes:
    """A compressed archive."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, data in members:
            packed.writestr(name, data)
    return stream.getvalue()


def stamped(form: str, count: int = 10_000) -> bytes:
    """Rows with stamps of ``form``, which may hold the number of the row."""
    rows = "\n".join(form % ((i % 60,) if "%" in form else ()) + ",1" for i in range(count))
    return f"Time,EMG (uV)\n{rows}".encode()


NOISE = np.random.default_rng(1)
MORE_FILES: dict[str, Callable[[], bytes]] = {
    "wav_that_claims_four_gib": lambda: wav(claim=2**32 - 1),
    "wav_cut_in_a_sample": lambda: wav(bytes(160_001)),
    "wav_without_a_rate": lambda: wav(rate=0),
    "wav_of_the_highest_rate": lambda: wav(rate=2**32 - 1),
    "wav_without_channels": lambda: wav(channels=0),
    "wav_of_65535_channels": lambda: wav(channels=65_535, bits=8),
    "wav_of_12_bits": lambda: wav(bits=12),
    "wav_of_nan": lambda: wav(floats(np.nan), code=3, bits=32),
    "wav_of_endless_values": lambda: wav(floats(np.inf, -np.inf), code=3, bits=32),
    "wav_of_huge_values": lambda: wav(floats(1e308, -1e308, size=8), code=3, bits=64),
    "wav_of_nan_at_48_khz": lambda: wav(
        floats(np.nan, 1e-3, count=240_000), code=3, bits=32, rate=48_000
    ),
    "wav_of_two_million_at_192_khz": lambda: wav(
        NOISE.integers(-3000, 3000, 1_990_000).astype("<i2").tobytes(), rate=192_000
    ),
    "wav_of_32_mib": lambda: wav(bytes(32 * MIB - 100)),
    "wav_of_a_million_chunks": lambda: wav(between=(b"junk" + bytes(4)) * 1_000_000),
    "wav_with_a_chunk_of_four_gib": lambda: wav(between=b"LIST\xff\xff\xff\xff"),
    "wav_of_nothing": lambda: b"RIFF\0\0\0\0WAVEfmt \0\0\0\0data\0\0\0\0",
    "wav_extended_and_short": lambda: wav(code=0xFFFE),
    "wav_extended_and_empty": lambda: wav(code=0xFFFE, shape_bytes=40),
    "wfdb_of_31_mib": lambda: archive(
        ("rec.hea", f"rec 1 300\n{SIGNAL}".encode()), ("rec.dat", bytes(31 * MIB))
    ),
    "wfdb_header_of_60_mib": lambda: archive(("rec.hea", b"#" * (60 * MIB)), ("rec.dat", CODES)),
    "wfdb_of_20000_members": lambda: archive(
        ("rec.hea", b"x"), *((f"{i}.dat", b"") for i in range(20_000))
    ),
    "wfdb_gain_nan": lambda: record(RECORD, SIGNAL.replace("100/", "nan/")),
    "wfdb_gain_of_ages": lambda: record(RECORD, SIGNAL.replace("100/", "1e-300/")),
    "wfdb_gain_of_points": lambda: record(RECORD, SIGNAL.replace("100/", "1.2.3/")),
    "wfdb_base_of_ages": lambda: record(RECORD, SIGNAL.replace("100/", "100(9999999999)/")),
    "wfdb_rate_zero": lambda: record("rec 1 0 3000", SIGNAL),
    "wfdb_rate_negative": lambda: record("rec 1 -300 3000", SIGNAL),
    "wfdb_rate_without_digits": lambda: record("rec 1 e 3000", SIGNAL),
    "wfdb_frames_of_ages": lambda: record("rec 1 300 999999999999", SIGNAL),
    "wfdb_frame_of_9999": lambda: record(RECORD, SIGNAL.replace("16 ", "16x9999 ")),
    "wfdb_skips_all": lambda: record("rec 1 300", SIGNAL.replace("16 ", "16+999999999 ")),
    "wfdb_path_upwards": lambda: record(RECORD, SIGNAL.replace("rec.dat", "../../etc/passwd")),
    "wfdb_path_of_a_home": lambda: record(RECORD, SIGNAL.replace("rec.dat", "~root")),
    "wfdb_path_of_a_drive": lambda: record(RECORD, SIGNAL.replace("rec.dat", "C:rec.dat")),
    "wfdb_label_of_60000": lambda: record(RECORD, SIGNAL + "G" * 60_000),
    "wfdb_of_64_signals": lambda: record(
        "rec 64 4000", *[SIGNAL] * 64, packed=bytes(64 * 31_000 * 2)
    ),
    "clock_of_420000_rows": lambda: b"Time,EMG (uV)\n" + b"10:00:00.001,1\n" * 420_000,
    "clock_and_date_of_400000_rows": lambda: (
        b"Date,Time,EMG (uV)\n" + b"2026-01-01,10:00:00.001,1\n" * 399_000
    ),
    "clock_of_32_mib": lambda: b"Time,EMG (uV)\n" + b"10:00:00.001,1\n" * (2 * MIB),
    "clock_of_60_columns": lambda: (b",".join([b"10:00:00.001"] * 60) + b"\n") * 6600,
    "clock_of_colons": lambda: b"Time,EMG (uV)\n" + (b":" * 4000 + b"\n") * 8000,
    "clock_of_no_hour": lambda: stamped("99:99:99.%03d"),
    "clock_backwards": lambda: stamped("10:%02d:00.000"),
    "clock_of_9999_days": lambda: stamped("9999 days %02d:00:00"),
    "clock_of_4000_decimals": lambda: stamped("10:00:00." + "9" * 4000, 2000),
    "thousands_without_end": lambda: b"t;emg_uV\n" + (b"1,111" * 800 + b";1.5\n") * 2000,
    "thousands_in_300000_quotes": lambda: b"t,emg_uV\n" + b'"1,111,111,111,111.5",1\n' * 300_000,
    "minus_signs": lambda: ("\u2212" * 1300 + "\n").encode() * 8000,
    "footer_of_a_million_lines": lambda: b"emg\n" + b"1.5\n" * 5000 + b"a word\n" * 1_000_000,
}
