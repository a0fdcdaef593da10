"""Files made to hurt a reader. Run as a module it reads one of them and prints seconds and peak
memory.
"""

from __future__ import annotations

import gzip
import io
import json
import sys
import time
import zipfile
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from readiness.signal.capture import Declared
from readiness.signal.errors import CaptureRefused
from readiness.signal.integrity.checks import check_integrity
from readiness.signal.readers import preview, read_capture

from .capture_files import own_form, rows, sound, trace
from .edf_bytes import File, Signal, noise_file
from .hostile_pieces import MORE_FILES
from .memory import peak_memory

MIB = 2**20
HEAD = b"# test: still\n# rate_hz: 1000\n# unit: uV\n"


def zipped() -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("a.csv", sound())
    return stream.getvalue()


def wide_edf(records: int, rate: int = 4000) -> bytes:
    codes = np.zeros((records, rate), dtype="<i2")
    signals = tuple(
        Signal(codes, label=f"s{i}" if i else "EMG", unit="x" if i else "uV") for i in range(64)
    )
    return File(signals).to_bytes()


FILES: dict[str, Callable[[], bytes]] = {
    "empty": lambda: b"",
    "one_byte": lambda: b"0",
    "nul_bytes": lambda: b"\x00" * MIB,
    "nul_in_a_number": lambda: sound().replace(b"0", b"\x00", 1),
    "random_bytes": lambda: np.random.default_rng(1).bytes(4 * MIB),
    "random_32_mib": lambda: np.random.default_rng(1).bytes(32 * MIB),
    "zip": zipped,
    "gzip": lambda: gzip.compress(sound()),
    "png": lambda: b"\x89PNG\r\n\x1a\n" + bytes(1000),
    "pdf": lambda: b"%PDF-1.7\n" + b"1 0 obj\n" * 1000,
    "old_workbook": lambda: bytes.fromhex("d0cf11e0a1b11ae1") + bytes(5000),
    "web_page": lambda: b"<!doctype html><table><tr><td>1</td></tr></table>",
    "one_line_of_30_mb": lambda: b"1," * (15 * MIB),
    "one_line_of_digits": lambda: b"1" * (30 * MIB),
    "long_line_further_down": lambda: sound() + b"1" * (30 * MIB),
    "a_million_columns": lambda: HEAD + b",".join([b"1"] * 1_000_000) + b"\n",
    "a_million_names": lambda: HEAD + b",".join([b"emg"] * 1_000_000) + b"\n1,2\n",
    "sixty_five_columns": lambda: HEAD + (b",".join([b"1"] * 65) + b"\n") * 10_000,
    "sixteen_million_rows": lambda: HEAD + b"emg\n" + b"1\n" * (16 * MIB - 30),
    "empty_cells": lambda: HEAD + b"emg,b\n" + b",\n" * (16 * MIB - 30),
    "empty_lines": lambda: HEAD + b"emg\n" + b"1\n" + b"\n" * (31 * MIB),
    "carriage_returns": lambda: HEAD + b"emg\n" + b"1\r" * (15 * MIB),
    "two_million_quoted": lambda: HEAD + b"emg\n" + b'"1.5"\n' * 1_900_000,
    "two_million_nan": lambda: HEAD + b"emg\n" + b"nan\n" * 1_900_000,
    "alternating_nan": lambda: HEAD + b"emg\n" + b"nan\n1\n" * 5_000,
    "two_million_then_text": lambda: HEAD + b"emg\n" + b"1.25\n" * 1_900_000 + b"x\n",
    "half_empty_rows": lambda: HEAD + b"emg,b\n1,1\n" + b"1,\n" * 990_000,
    "huge_numbers": lambda: HEAD + b"emg\n" + b"1e400\n" * 10_000,
    "numbers_at_the_end_of_float": lambda: HEAD + b"emg\n" + b"1.7e308\n-1.7e308\n" * 5_000,
    "tiny_numbers": lambda: HEAD + b"emg\n" + b"1e-320\n2e-320\n" * 5_000,
    "long_digits": lambda: HEAD + b"emg\n" + (b"1" * 4000 + b"\n") * 8_000,
    "huge_times": lambda: HEAD + b"t_s,emg\n" + b"".join(b"%de300,1\n" % i for i in range(10_000)),
    "gap_of_ages": lambda: own_form(
        "t_s,emg\n" + rows(np.r_[np.arange(4999) / 500, 1e300], trace(), form="%.9g")
    ),
    "every_time_a_gap": lambda: own_form(
        "t_s,emg\n"
        + rows(np.cumsum(np.where(np.arange(5000) % 3, 0.002, 90.0)), trace(), form="%.3f")
    ),
    "utf_16_of_32_mib": lambda: b"\xff\xfe" + "\u4e00\n".encode("utf-16-le") * (8 * MIB - 1),
    "utf_16_cut": lambda: b"\xff\xfe" + sound().decode().encode("utf-16-le")[:-1],
    "utf_16_half_pairs": lambda: b"\xff\xfe" + b"\x00\xd8" * 10_000,
    "many_header_lines": lambda: b"# a: b\n" * 4_000_000,
    "header_key_of_4000": lambda: b"# " + b"a" * 4000 + b"\n" + sound(),
    "header_number_of_4000": lambda: b"# resolution: " + b"9" * 4000 + b"\n" + sound(),
    "header_rate_nan": lambda: sound(rate_hz="nan"),
    "header_rate_huge": lambda: sound(rate_hz="1e308"),
    "header_rate_negative": lambda: sound(rate_hz="-500"),
    "header_year_10000": lambda: sound(taken="10000-01-01"),
    "quotes_never_closed": lambda: HEAD + b"emg\n" + b'"1\n' * 100_000,
    "brackets": lambda: HEAD + b"(" * 4000 + b"\n1\n",
    "arabic_digits": lambda: HEAD + b"emg\n" + "\u0661\n".encode() * 10_000,
    "edf_of_32_mib": lambda: wide_edf(65)[: 32 * MIB],
    "edf_of_64_fast_signals": lambda: wide_edf(10, 3000),
    "edf_that_claims_all_memory": lambda: (
        replace(noise_file(), records="99999999").with_signal(samples="99999999").to_bytes()
    ),
    "edf_negative_sizes": lambda: (
        replace(noise_file(), records="-10").with_signal(samples="-500").to_bytes()
    ),
    "edf_of_tiny_records": (
        lambda: File((Signal(np.zeros((200_000, 1), dtype=int)),), duration="0.001").to_bytes()
    ),
    "edf_header_only": lambda: noise_file().to_bytes()[:512],
    "edf_of_control_characters": lambda: b"0       " + bytes(range(1, 9)) * 3000,
    "edf_named_bdf": lambda: b"\xffABCDEFG" + noise_file().to_bytes()[8:],
    **MORE_FILES,
}
SAID = Declared(test="still", full_scale_uv=5000.0)
"""What is said of files that cannot say it, so that their samples are read."""


def read_and_check(name: str) -> str:
    """Read one hostile file as the bench does: capture, integrity, preview. Returns what came of
    it.
    """
    data = FILES[name]()
    outcome = "read"
    try:
        said = SAID if name in MORE_FILES else Declared()
        check_integrity(read_capture(f"{name}.csv", data, said))
    except CaptureRefused as refused:
        outcome = refused.sentence
    try:
        preview(f"{name}.csv", data)
    except CaptureRefused:
        return outcome
    return outcome


def main() -> None:
    """Print, as JSON, the outcome of one file, its processor seconds and its peak of memory in
    MB.
    """
    name = sys.argv[1]
    FILES[name]()  # what making the file costs is known before the clock starts
    with peak_memory() as peak:
        begun = time.process_time()
        outcome = read_and_check(name)
        seconds = time.process_time() - begun
    sys.stdout.write(
        json.dumps({"outcome": outcome, "seconds": seconds, "peak_mb": peak["mb"]}) + "\n"
    )


if __name__ == "__main__":
    main()
