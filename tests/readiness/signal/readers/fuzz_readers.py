"""Mutated capture files, by the thousand: each is read or refused in words, never anything else.

    python -m tests.readiness.signal.readers.fuzz_readers --count 200000 --seed 1

prints how many were read and refused, the slowest file, and the peak of memory; it stops with the
bytes of the first file that breaks the promise.
"""

from __future__ import annotations

import argparse
import sys
import time
import warnings
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from readiness.signal.capture import Declared
from readiness.signal.errors import CaptureRefused
from readiness.signal.integrity.checks import check_integrity
from readiness.signal.readers import preview, read_capture, write_csv, write_edf

from .capture_files import own_form, rows, trace
from .edf_bytes import timed_file
from .memory import peak_memory

RATE = 300.0
COUNT = 3000
WORDS = (
    b"nan",
    b"inf",
    b"1e999",
    b"-",
    b"",
    b",",
    b";",
    b"\t",
    b" ",
    b"\n",
    b"\r",
    b"\r\n",
    b'"',
    b"#",
    b"# test: flex\n",
    b"# rate_hz: 0\n",
    b"# unit: counts\n",
    b"\x00",
    b"\xff",
    b"\xff\xfe",
    b"\xef\xbb\xbf",
    b"0x10",
    b"1_0",
    b"1,5",
    b"1.5",
    b"99999999",
    b"-1",
    b"0",
    b"EDF+D",
    b"EDF Annotations ",
    b"+1e9\x14\x14\x00",
    "\u00b5V".encode(),
    b"mV",
    b"e",
    b":",
)


@dataclass
class Outcome:
    """What came of a run."""

    read: int = 0
    refused: int = 0
    noted: int = 0
    slowest_s: float = 0.0
    missing: Counter[str] = field(default_factory=Counter)


def seeds() -> list[tuple[str, bytes]]:
    """Sound files of every form, small enough to be read a thousand times a second."""
    x, t = trace(COUNT), np.arange(COUNT) / RATE
    volts = np.full(COUNT, 2.95)
    return [
        (
            "a.csv",
            write_csv(x, RATE, test="still", kit="KD-1", battery_v=volts, mains_hz=50, decimals=2),
        ),
        ("a.csv", own_form("emg\n" + rows(x, form="%.2f"), rate_hz=300)),
        (
            "a.txt",
            own_form(
                "t_s;emg;b\n" + rows(t, x, volts, delimiter=";", form="%.4f").replace(".", ","),
                rate_hz=None,
            ),
        ),
        (
            "a.tsv",
            own_form(
                "time\temg\nms\tmV\n" + rows(t * 1e3, x / 1e3, delimiter="\t", form="%.5f"),
                unit=None,
                rate_hz=300,
            ),
        ),
        (
            "a.csv",
            b"\xff\xfe"
            + own_form("emg\n" + rows(x, form="%.2f"), rate_hz=300).decode().encode("utf-16-le"),
        ),
        ("a.edf", write_edf(x, RATE, test="still", kit="KD-1", battery_v=np.full(10, 2.95))),
        ("a.bdf", write_edf(x, RATE, test="lift", bdf=True)),
        ("a.edf", timed_file([0, 1, 2, 3, 4, 6, 7, 8, 9], 300).to_bytes()),
    ]


def mutate(data: bytes, rng: np.random.Generator, others: list[tuple[str, bytes]]) -> bytes:
    """One change, or two to four: bytes, words, cuts, repeats, splices; half of them in the first
    1,100 bytes.
    """
    made = bytearray(data)
    for _ in range(1 if rng.random() < 0.6 else int(rng.integers(2, 5))):
        reach = min(len(made), 1100) if rng.random() < 0.5 else len(made)
        at = int(rng.integers(0, reach + 1))
        _CHANGES[int(rng.integers(len(_CHANGES)))](made, at, rng, others)
    return bytes(made)


def _byte(made: bytearray, at: int, rng: np.random.Generator, others: list) -> None:
    if at < len(made):
        made[at] = int(rng.integers(256))


def _bit(made: bytearray, at: int, rng: np.random.Generator, others: list) -> None:
    if at < len(made):
        made[at] ^= 1 << int(rng.integers(8))


def _insert_word(made: bytearray, at: int, rng: np.random.Generator, others: list) -> None:
    made[at:at] = WORDS[int(rng.integers(len(WORDS)))]


def _overwrite_word(made: bytearray, at: int, rng: np.random.Generator, others: list) -> None:
    word = WORDS[int(rng.integers(len(WORDS)))]
    made[at : at + len(word)] = word


def _overwrite_field(made: bytearray, at: int, rng: np.random.Generator, others: list) -> None:
    word = WORDS[int(rng.integers(len(WORDS)))].ljust(8)[:8]
    start = at // 8 * 8
    made[start : start + 8] = word


def _cut(made: bytearray, at: int, rng: np.random.Generator, others: list) -> None:
    del made[at:]


def _drop(made: bytearray, at: int, rng: np.random.Generator, others: list) -> None:
    del made[at : at + int(rng.integers(1, 2000))]


def _repeat(made: bytearray, at: int, rng: np.random.Generator, others: list) -> None:
    made[at:at] = made[at : at + int(rng.integers(1, 2000))]


def _splice(made: bytearray, at: int, rng: np.random.Generator, others: list) -> None:
    _, other = others[int(rng.integers(len(others)))]
    start = int(rng.integers(len(other)))
    made[at : at + 300] = other[start : start + int(rng.integers(1, 600))]


_CHANGES: tuple[Callable[[bytearray, int, np.random.Generator, list], None], ...] = (
    _byte,
    _bit,
    _insert_word,
    _overwrite_word,
    _overwrite_field,
    _cut,
    _drop,
    _repeat,
    _splice,
)


def answer(name: str, data: bytes, outcome: Outcome) -> None:
    """Read one file as the bench does and check what may come of it; anything else raises."""
    begun = time.process_time()
    try:
        capture = read_capture(name, data, Declared())
    except CaptureRefused as refused:
        outcome.refused += 1
        outcome.missing[refused.missing] += 1
        if not 20 < len(refused.sentence) < 600 or not refused.sentence.isprintable():
            raise AssertionError(f"no sentence for the screen: {refused.sentence!r}") from refused
        if refused.missing:
            preview(name, data)
    else:
        outcome.read += 1
        notes = (*capture.notes, *check_integrity(capture))
        outcome.noted += bool(notes)
        holes = np.count_nonzero(~np.isfinite(capture.emg.samples))
        if (
            not 9.6 < capture.duration_s < 10.6
            or capture.test is None
            or not 250.0 < capture.rate_hz <= 20_000.0
        ):
            raise AssertionError(f"a capture that must not pass: {capture}")
        if holes and not any(note.code == "missing_samples" for note in notes):
            raise AssertionError(f"{holes} samples lack in silence")
    outcome.slowest_s = max(outcome.slowest_s, time.process_time() - begun)


def run(count: int, seed: int) -> Outcome:
    """Answer ``count`` mutated files; a broken promise raises with the file's number and bytes
    noted.
    """
    files, rng, outcome = seeds(), np.random.default_rng(seed), Outcome()
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        for number in range(count):
            name, data = files[number % len(files)]
            mutated = mutate(data, rng, files)
            try:
                answer(name, mutated, outcome)
            except Exception as error:
                error.add_note(
                    f"file {number} of seed {seed}, {len(mutated)} bytes, begins {mutated[:600]!r}"
                )
                raise
    return outcome


def main() -> None:
    """Run from the command line and print the figures."""
    parser = argparse.ArgumentParser(description="Read mutated capture files.")
    parser.add_argument("--count", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    begun = time.process_time()
    with peak_memory() as peak:
        outcome = run(asked.count, asked.seed)
    sys.stdout.write(
        f"{asked.count} files in {time.process_time() - begun:.0f} s: {outcome.read} read,"
        f" {outcome.noted} with notes; {outcome.refused} refused {dict(outcome.missing)}; slowest"
        f" {outcome.slowest_s:.3f} s, peak {peak['mb']:.0f} MB\n"
    )


if __name__ == "__main__":
    main()
