"""Recordings as programs of other make lay them out, written by the csv module or by hand, and
what the operator must say of each. The readers have no part in writing them.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

import numpy as np

RATE = 500.0
COUNT = 5000
SECONDS = np.arange(COUNT) / RATE
TRACE = np.round(np.random.default_rng(7).normal(0.0, 3.0, COUNT), 2)
"""Microvolts, two decimals."""
VOLTS = np.round(2.9 - 0.001 * SECONDS, 3)
NOON_S = 50_587.0


@dataclass(frozen=True)
class Layout:
    """A file, and the answers it needs."""

    data: bytes
    said: dict[str, object] = field(default_factory=dict)
    name: str = "recording.csv"
    within_uv: float = 1e-9
    """So far a value may be off by the digits it was written with."""


def table(
    head: Iterable[Iterable[object]],
    *columns: Iterable[object],
    delimiter: str = ",",
    quoting: int = csv.QUOTE_MINIMAL,
    end: str = "\r\n",
) -> bytes:
    """Rows of a head and of columns, by the csv module."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, delimiter=delimiter, quoting=quoting, lineterminator=end)
    writer.writerows(head)
    writer.writerows(zip(*columns, strict=True))
    return stream.getvalue().encode()


def texts(values: np.ndarray, form: str = "{:.4f}", comma: bool = False) -> list[str]:
    """Numbers as text."""
    written = [form.format(value) for value in values]
    return [text.replace(".", ",") for text in written] if comma else written


def clock(
    values: np.ndarray, mark: str = ".", places: int = 3, from_s: float = NOON_S
) -> list[str]:
    """Times of day."""
    stamps = []
    for value in values:
        units = round((from_s + value) * 10**places)
        whole, part = divmod(units, 10**places)
        minutes, second = divmod(whole % 86_400, 60)
        text = f"{minutes // 60:02d}:{minutes % 60:02d}:{second:02d}"
        stamps.append(f"{text}{mark}{part:0{places}d}" if places else text)
    return stamps


def fixed(*columns: list[str]) -> bytes:
    """Columns of fixed width, as matrices are printed."""
    rows = zip(*columns, strict=True)
    return ("\n".join("".join(f"{cell:>16}" for cell in row) for row in rows) + "\n").encode()


MICROVOLTS = texts(TRACE, "{:.2f}")
MILLIVOLTS = texts(TRACE / 1e3, "{:.5f}")
TICKS = texts(SECONDS)
BY_RATE = {"rate_hz": RATE}
SCOPE_HEAD = [
    ["Record Length", COUNT],
    ["Sample Interval", 0.002],
    ["Vertical Units", "V"],
    ["Resolution:=12", "bit"],
]

LAYOUTS: dict[str, Callable[[], Layout]] = {
    "scope_preamble_and_names": lambda: Layout(
        table([*SCOPE_HEAD, ["TIME", "CH1"], ["s", "V"]], TICKS, texts(TRACE / 1e6, "{:.2e}")),
        within_uv=5e-2,
    ),
    "scope_units_without_names": lambda: Layout(
        table([*SCOPE_HEAD, ["Second", "Volt"]], TICKS, texts(TRACE / 1e6, "{:.3e}")),
        {"time_column": "1 (s)", "emg_column": "2 (V)"},
        within_uv=5e-3,
    ),
    "scope_numbers_under_settings": lambda: Layout(
        table(SCOPE_HEAD, TICKS, MILLIVOLTS),
        {"time_column": "1 (s)", "emg_column": "2 (mV)"},
    ),
    "spreadsheet_decimal_comma": lambda: Layout(
        table(
            [["Zeit [s]", "Kanal 1 [mV]"]],
            texts(SECONDS, comma=True),
            texts(TRACE / 1e3, "{:.5f}", comma=True),
            delimiter=";",
        ),
        {"time_column": "Zeit"},
    ),
    "spreadsheet_everything_quoted": lambda: Layout(
        table([["Temps (s)", "Voie 1 (µV)"]], TICKS, MICROVOLTS, quoting=csv.QUOTE_ALL)
    ),
    "spreadsheet_quoted_comma_numbers": lambda: Layout(
        table(
            [["t (s)", "EMG (uV)"]],
            texts(SECONDS, comma=True),
            texts(TRACE, "{:.2f}", comma=True),
            quoting=csv.QUOTE_ALL,
        )
    ),
    "spreadsheet_empty_column_at_the_end": lambda: Layout(
        table([["time (ms)", "EMG (uV)", ""]], texts(SECONDS * 1e3), MICROVOLTS, [""] * COUNT)
    ),
    "frame_with_an_index": lambda: Layout(
        table([["", "t_s", "biceps"]], range(COUNT), TICKS, MILLIVOLTS, end="\n"),
        {"emg_column": "biceps (mV)"},
    ),
    "frame_with_numbered_columns": lambda: Layout(
        table([["", "0", "1"]], range(COUNT), MICROVOLTS, texts(VOLTS), end="\n"),
        {"emg_column": "0", "unit": "\u00b5V", "battery_column": "1 (V)", **BY_RATE},
    ),
    "channels_called_1_and_2": lambda: Layout(
        table([["Sample", "1", "2"]], range(COUNT), MICROVOLTS, texts(VOLTS)),
        {"emg_column": "1", "unit": "\u03bcV", **BY_RATE},
    ),
    "numbers_as_names": lambda: Layout(
        table([["1", "2"]], TICKS, MICROVOLTS),
        {"time_column": "1 (s)", "emg_column": "2", "unit": "uV"},
    ),
    "names_in_utf_16": lambda: Layout(
        table([["Time (s)", "EMG (μV)"]], TICKS, MICROVOLTS, delimiter="\t")
        .decode()
        .encode("utf-16")
    ),
    "names_in_latin_1": lambda: Layout(
        table([["Time (s)", "EMG (µV)"]], TICKS, MICROVOLTS).decode().encode("latin-1")
    ),
    "clock_times": lambda: Layout(table([["Time", "EMG (uV)"]], clock(SECONDS), MICROVOLTS)),
    "clock_times_with_a_comma": lambda: Layout(
        table(
            [["Uhrzeit", "Kanal 1 (µV)"]],
            clock(SECONDS, ","),
            texts(TRACE, "{:.2f}", comma=True),
            delimiter=";",
        )
    ),
    "clock_times_with_colons": lambda: Layout(
        table([["Clock", "EMG (uV)"]], clock(SECONDS, ":"), MICROVOLTS, delimiter="\t")
    ),
    "clock_of_hundredths": lambda: Layout(
        table([["Time", "EMG (uV)"]], clock(SECONDS - SECONDS % 0.01 + 1e-6, places=2), MICROVOLTS)
    ),
    "clock_of_seconds": lambda: Layout(
        table([["Time", "EMG (uV)"]], clock(np.floor(SECONDS), places=0), MICROVOLTS), BY_RATE
    ),
    "clock_over_midnight": lambda: Layout(
        table([["Time", "EMG (uV)"]], clock(SECONDS, from_s=86_396.0), MICROVOLTS)
    ),
    "clock_of_half_days": lambda: Layout(
        table(
            [["Time", "EMG (uV)"]],
            [f"{stamp} PM" for stamp in clock(SECONDS, from_s=7_190.0)],
            MICROVOLTS,
        )
    ),
    "minutes_and_seconds": lambda: Layout(
        table([["Time", "EMG (uV)"]], [stamp[3:] for stamp in clock(SECONDS)], MICROVOLTS)
    ),
    "date_and_clock_in_one_cell": lambda: Layout(
        table(
            [["Timestamp", "EMG (uV)"]],
            [f"25.11.2026 {stamp}" for stamp in clock(SECONDS)],
            MICROVOLTS,
            delimiter=";",
        )
    ),
    "date_and_clock_apart": lambda: Layout(
        table([["Date", "Time", "EMG (uV)"]], ["11/25/2026"] * COUNT, clock(SECONDS), MICROVOLTS)
    ),
    "iso_times_between_blanks": lambda: Layout(
        table(
            [["stamp", "emg_uV"]],
            [f"2026-11-25T{stamp}Z" for stamp in clock(SECONDS, places=6)],
            MICROVOLTS,
            delimiter=" ",
        )
    ),
    "matrix_of_a_computing_program": lambda: Layout(
        fixed(texts(SECONDS, "{:.7e}"), texts(TRACE / 1e6, "{:.7e}")),
        {"time_column": "1 (s)", "emg_column": "2 (V)"},
        "recording.txt",
    ),
    "matrix_between_tabs": lambda: Layout(
        table([], MICROVOLTS, texts(VOLTS), delimiter="\t", end="\n"),
        {"emg_column": "1", "unit": "uV", "battery_column": "2 (V)", **BY_RATE},
        "recording.txt",
    ),
    "comments_of_another_program": lambda: Layout(
        b"# Resolution: 12\n# Range: 5 V\n# Test: grip\n# Kit: starter pack\n# Unit: raw\n"
        + table([["time_s", "EMG (uV)"]], TICKS, MICROVOLTS)
    ),
    "sentence_above_the_names": lambda: Layout(
        b"Exported on a Tuesday\n\n" + table([["time_s", "EMG (uV)"]], TICKS, MICROVOLTS)
    ),
    "unit_by_letters_of_megavolts": lambda: Layout(
        table([["t_s", "EMG (MV)"]], TICKS, MILLIVOLTS), {"unit": "mV"}
    ),
    "longer_than_a_test": lambda: Layout(
        table(
            [["t_s", "EMG (uV)"]],
            texts(np.arange(COUNT + 1500) / RATE),
            [*(["0.5"] * 1000), *MICROVOLTS, *(["0.5"] * 500)],
        ),
        {"window_start_s": 2.0},
    ),
    "channel_among_many": lambda: Layout(
        table(
            [["t_s", *(f"AI{i} (mV)" for i in range(12))]],
            TICKS,
            *([MILLIVOLTS if i == 7 else ["0.1"] * COUNT for i in range(12)]),
        ),
        {"emg_column": "ai7"},
    ),
}
