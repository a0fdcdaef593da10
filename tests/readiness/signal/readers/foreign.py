"""A sound channel as general-purpose programs and libraries write it, each with the one option that
a command may need. NumPy, the csv module, SciPy, wave and two EDF libraries write; the readers have
no part in it. Frames are written as a frame library of wide use writes them.
"""

from __future__ import annotations

import io
import tempfile
import wave
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import edfio
import numpy as np
import pyedflib
from scipy.io import wavfile

from readiness.signal.readers import MappedColumn, join

from .layouts import clock, fixed, table, texts

RATE = 1000.0
COUNT = 10_000
SECONDS = np.arange(COUNT) / RATE
TRACE = np.round(np.random.default_rng(11).normal(0.0, 1.0, COUNT), 3)
"""Microvolts, three decimals."""
TICKS = texts(SECONDS, "{:.3f}")
MICROVOLTS = texts(TRACE, "{:.3f}")
MILLIVOLTS = texts(TRACE / 1e3, "{:.6f}")
TIME_AND_EMG = (MappedColumn(0, "time", "s"), MappedColumn(1, "emg", "uV"))
EMG_ALONE = (MappedColumn(0, "emg", "uV"),)


@dataclass(frozen=True)
class Foreign:
    """A file, and what the operator says of it: one option, or a column map."""

    data: bytes
    option: Sequence[str] = ()
    name: str = "recording.csv"
    columns: tuple[MappedColumn, ...] = ()
    rate_hz: float | None = None
    full_scale_uv: float | None = None
    within_uv: float = 1e-6


def grouped(values: np.ndarray, marks: str) -> list[str]:
    """Numbers of two decimals with a mark between thousands and one before decimals."""
    thousands, decimal = marks
    swap = str.maketrans({",": thousands, ".": decimal})
    return [f"{value:,.2f}".translate(swap) for value in values]


def matrix(*columns: np.ndarray, **how: object) -> bytes:
    """A table as ``numpy.savetxt`` writes it."""
    stream = io.BytesIO()
    np.savetxt(stream, np.column_stack(columns), **how)
    return stream.getvalue()


def european(
    kind: int, label: str, unit: str, per_unit: float, digits: int = 16, **more: np.ndarray
) -> bytes:
    """EDF or BDF by a library of other make; ``more`` are further signals, at 1 Hz."""
    top = 90.0 / per_unit
    full = 2 ** (digits - 1)
    heads = [
        {
            "label": name,
            "dimension": dimension,
            "sample_frequency": rate,
            "physical_max": high,
            "physical_min": -high,
            "digital_max": full - 1,
            "digital_min": -full,
            "transducer": "",
            "prefilter": "",
        }
        for name, dimension, rate, high in (
            (label, unit, 1000, top),
            *((name, "degC", 1, 100.0) for name in more),
        )
    ]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "recording.edf"
        with pyedflib.EdfWriter(str(path), len(heads), file_type=kind) as writer:
            writer.setSignalHeaders(heads)
            writer.writeSamples([TRACE / per_unit, *more.values()])
            if kind in (pyedflib.FILETYPE_EDFPLUS, pyedflib.FILETYPE_BDFPLUS):
                writer.writeAnnotation(2.5, -1, "lifted")
        return path.read_bytes()


def floating_edf() -> bytes:
    """EDF by the other library, which chooses its own steps."""
    stream = io.BytesIO()
    signal = edfio.EdfSignal(TRACE / 1e3, RATE, label="Kanal 3", physical_dimension="mV")
    edfio.Edf([signal]).write(stream)
    return stream.getvalue()


def sound(codes: np.ndarray) -> bytes:
    """WAV by SciPy, in the type of the array."""
    stream = io.BytesIO()
    wavfile.write(stream, 1000, codes)
    return stream.getvalue()


def sound_24() -> bytes:
    """WAV of 24 bits by the standard library, +-5 mV at full scale."""
    stream = io.BytesIO()
    codes = np.rint(TRACE / 5000.0 * 2**23).astype("<i4")
    with wave.open(stream, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(3)
        file.setframerate(1000)
        file.writeframes(codes.view(np.uint8).reshape(-1, 4)[:, :3].tobytes())
    return stream.getvalue()


def record() -> bytes:
    """A WFDB record of two signals in format 16."""
    header = (
        "rec 2 1000 10000 10:00:00 02/03/2026\n"
        "rec.dat 16 1000/uV 16 0 0 0 0 Muskel\nrec.dat 16 100/V 16 0 0 0 0 supply\n"
    )
    codes = np.column_stack([np.rint(TRACE * 1e3), np.full(COUNT, 290)]).astype("<i2")
    return join("rec.hea", header.encode(), "rec.dat", codes.tobytes())


def days(values: np.ndarray) -> list[str]:
    """Spans of time as a frame library writes them."""
    return [f"0 days {stamp}" for stamp in clock(values, places=6, from_s=0.0)]


EDF, EDFPLUS = pyedflib.FILETYPE_EDF, pyedflib.FILETYPE_EDFPLUS
BDF, BDFPLUS = pyedflib.FILETYPE_BDF, pyedflib.FILETYPE_BDFPLUS
TEXT = "recording.txt"
FULL = ("--full-scale", "5mV")

FOREIGN: dict[str, Callable[[], Foreign]] = {
    "frame_with_an_index": lambda: Foreign(
        table([["", "EMG (uV)"]], range(COUNT), MICROVOLTS, end="\n"), ("--rate", "1000")
    ),
    "frame_indexed_by_time": lambda: Foreign(
        table([["Time [s]", "EMG (uV)"]], TICKS, MICROVOLTS, end="\n")
    ),
    "frame_indexed_by_dates": lambda: Foreign(
        table(
            [["", "emg"]],
            [f"2026-03-02 {stamp}+00:00" for stamp in clock(SECONDS, places=6)],
            MICROVOLTS,
            end="\n",
        ),
        ("--unit", "uV"),
    ),
    "frame_indexed_by_spans": lambda: Foreign(
        table([["", "EMG (uV)"]], days(SECONDS), MICROVOLTS, end="\n")
    ),
    "frame_with_two_rows_of_names": lambda: Foreign(
        table([["time", "emg"], ["s", "uV"]], TICKS, MICROVOLTS, end="\n")
    ),
    "frame_in_words_with_an_index": lambda: Foreign(
        b"      t_s  emg_uV\n"
        + fixed([str(i) for i in range(COUNT)], TICKS, MICROVOLTS).replace(b"\t", b" "),
        name=TEXT,
    ),
    "frame_of_a_statistics_program": lambda: Foreign(
        b'"t_s" "emg_uV"\n'
        + "".join(
            f'"{i}" {t} {x}\n'
            for i, t, x in zip(range(1, COUNT + 1), TICKS, MICROVOLTS, strict=True)
        ).encode(),
        name=TEXT,
    ),
    "frame_with_words_for_nothing": lambda: Foreign(
        table([["t_s", "emg_uV", "note"]], TICKS, MICROVOLTS, ["NA"] * COUNT, end="\n")
    ),
    "unix_times_in_microseconds": lambda: Foreign(
        table([["timestamp_us", "emg_uV"]], [int(1.7e15 + 1e6 * t) for t in SECONDS], MICROVOLTS)
    ),
    "unix_times_without_a_unit": lambda: Foreign(
        table([["timestamp", "emg_uV"]], texts(1.7e9 + SECONDS, "{:.3f}"), MICROVOLTS),
        ("--time-column", "timestamp (s)"),
    ),
    "array_with_names_in_a_comment": lambda: Foreign(
        matrix(SECONDS, TRACE, header="t_s emg_uV"), name=TEXT
    ),
    "array_between_commas": lambda: Foreign(
        matrix(SECONDS, TRACE, delimiter=",", fmt="%.6e", header="made by a script\nt_s,emg_uV")
    ),
    "array_under_percent_signs": lambda: Foreign(
        matrix(SECONDS, TRACE, fmt="%10.4f", header="time_s emg_uV", comments="% "), name=TEXT
    ),
    "array_of_one_column": lambda: Foreign(
        matrix(TRACE), columns=EMG_ALONE, rate_hz=RATE, name=TEXT
    ),
    "ascii_matrix": lambda: Foreign(
        fixed(texts(SECONDS, "{:.7e}"), texts(TRACE, "{:.7e}")), columns=TIME_AND_EMG, name=TEXT
    ),
    "text_matrix_with_its_size": lambda: Foreign(
        b"# name: x\n# type: matrix\n# rows: 10000\n# columns: 2\n" + matrix(SECONDS, TRACE),
        columns=TIME_AND_EMG,
        name=TEXT,
    ),
    "fortran_exponents": lambda: Foreign(
        b"  t_s  emg_V\n" + fixed(TICKS, texts(TRACE / 1e6, "{:.8e}")).replace(b"e-", b"D-"),
        name=TEXT,
    ),
    "decimal_comma_in_utf_16": lambda: Foreign(
        table(
            [["Zeit (s)", "EMG (µV)"]],
            texts(SECONDS, "{:.3f}", comma=True),
            texts(TRACE, "{:.3f}", comma=True),
            delimiter="\t",
        )
        .decode()
        .encode("utf-16")
    ),
    "thousands_between_ticks": lambda: Foreign(
        table([["t_s", "emg_nV"]], TICKS, grouped(TRACE * 1e3, "'."), delimiter=";")
    ),
    "thousands_between_points": lambda: Foreign(
        table(
            [["Zeit (ms)", "EMG (nV)"]],
            grouped(SECONDS * 1e3, ".,"),
            grouped(TRACE * 1e3, ".,"),
            delimiter=";",
        )
    ),
    "thousands_in_quotes": lambda: Foreign(
        table([["t_s", "emg_nV"]], TICKS, grouped(TRACE * 1e3, ",."))
    ),
    "thousands_between_narrow_blanks": lambda: Foreign(
        table([["t_s", "emg_nV"]], TICKS, grouped(TRACE * 1e3, "\u202f."), delimiter="\t")
    ),
    "typographic_minus": lambda: Foreign(
        table([["t_s", "emg_uV"]], TICKS, [x.replace("-", "\u2212") for x in MICROVOLTS])
    ),
    "separator_named_and_trailing": lambda: Foreign(
        b"sep=;\r\n"
        + table(
            [["t_s", "emg_uV", ""]],
            texts(SECONDS, "{:.3f}", comma=True),
            texts(TRACE, "{:.3f}", comma=True),
            [""] * COUNT,
            delimiter=";",
        )
    ),
    "sections_and_a_footer": lambda: Foreign(
        b"[Settings]\nSampleRate=1000\n[Data]\n"
        + table([], MICROVOLTS, end="\n")
        + b"\nEnd of data\n",
        columns=EMG_ALONE,
        rate_hz=RATE,
    ),
    "scope_with_a_numbered_channel": lambda: Foreign(
        table(
            [["x-axis", "1"], ["second", "Volt"]],
            texts(SECONDS, "{:+.6E}"),
            texts(TRACE / 1e6, "{:+.6E}"),
        )
    ),
    "marks_in_a_column_of_their_own": lambda: Foreign(
        table(
            [["t_s", "emg_uV", "comment"]],
            TICKS,
            MICROVOLTS,
            ["lifted, A" if i == 2500 else "" for i in range(COUNT)],
        )
    ),
    "edf_of_other_make": lambda: Foreign(
        european(EDF, "EMG Biceps", "uV", 1.0), name="a.edf", within_uv=0.003
    ),
    "edf_plus_in_millivolts": lambda: Foreign(
        european(EDFPLUS, "Kanal 1", "mV", 1e3, Temp=np.full(10, 21.0)),
        name="a.edf",
        within_uv=0.003,
    ),
    "edf_in_nanovolts": lambda: Foreign(
        european(EDF, "ExG 1", "nV", 1e-3), name="a.edf", within_uv=0.003
    ),
    "edf_without_a_dimension": lambda: Foreign(
        european(EDFPLUS, "EMG", "", 1.0), ("--unit", "uV"), "a.edf", within_uv=0.003
    ),
    "edf_with_steps_of_its_own": lambda: Foreign(floating_edf(), name="a.edf", within_uv=0.003),
    "bdf": lambda: Foreign(european(BDF, "A1", "uV", 1.0, 24), name="a.bdf", within_uv=1e-5),
    "bdf_plus_in_volts": lambda: Foreign(
        european(BDFPLUS, "Muscle", "mV", 1e3, 24), name="a.bdf", within_uv=1e-5
    ),
    "wav_of_8_bits": lambda: Foreign(
        sound((128 + np.rint(TRACE / 25.6 * 128)).astype(np.uint8)),
        ("--full-scale", "25.6uV"),
        "a.wav",
        within_uv=0.11,
    ),
    "wav_of_16_bits": lambda: Foreign(
        sound(np.rint(TRACE / 5000 * 2**15).astype(np.int16)), FULL, "a.wav", within_uv=0.08
    ),
    "wav_of_24_bits": lambda: Foreign(sound_24(), FULL, "a.wav", within_uv=3e-4),
    "wav_of_32_bits": lambda: Foreign(
        sound(np.rint(TRACE / 5000 * 2**31).astype(np.int32)), FULL, "a.wav", within_uv=2e-6
    ),
    "wav_of_floats_in_stereo": lambda: Foreign(
        sound(np.column_stack([np.zeros(COUNT), TRACE / 5000]).astype(np.float32)),
        name="a.wav",
        columns=(MappedColumn(1, "emg"),),
        full_scale_uv=5000.0,
        within_uv=1e-6,
    ),
    "wfdb": lambda: Foreign(record(), ("--emg-column", "Muskel"), "rec.zip", within_uv=5e-4),
}
