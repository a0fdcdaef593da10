"""Any file, however hostile, is answered in words within 5 s and 200 MB (measurement.md)."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import read_capture
from readiness.signal.readers.limits import MAX_BYTES

from .hostile_files import FILES, read_and_check

pytestmark = pytest.mark.any_database

HEAVY = (
    "random_32_mib",
    "one_line_of_30_mb",
    "long_line_further_down",
    "a_million_columns",
    "sixteen_million_rows",
    "empty_lines",
    "carriage_returns",
    "two_million_quoted",
    "two_million_then_text",
    "half_empty_rows",
    "long_digits",
    "utf_16_of_32_mib",
    "edf_of_32_mib",
    "edf_of_64_fast_signals",
    "edf_of_tiny_records",
    "wav_of_two_million_at_192_khz",
    "wav_of_32_mib",
    "wav_of_a_million_chunks",
    "wfdb_of_31_mib",
    "wfdb_header_of_60_mib",
    "wfdb_of_20000_members",
    "clock_of_420000_rows",
    "clock_and_date_of_400000_rows",
    "clock_of_32_mib",
    "clock_of_60_columns",
    "clock_of_colons",
    "thousands_without_end",
    "thousands_in_300000_quotes",
    "minus_signs",
    "footer_of_a_million_lines",
)
BY_DAY = {
    "random_32_mib",
    "one_line_of_30_mb",
    "sixteen_million_rows",
    "utf_16_of_32_mib",
    "edf_of_32_mib",
    "wav_of_32_mib",
    "wfdb_of_31_mib",
    "clock_of_32_mib",
    "thousands_without_end",
    "minus_signs",
}
"""One of each format and of each way to be long; by night all."""
READ = {
    "alternating_nan",
    "tiny_numbers",
    "huge_times",
    "gap_of_ages",
    "every_time_a_gap",
    "header_key_of_4000",
    "edf_of_64_fast_signals",
    "wav_of_two_million_at_192_khz",
    "wfdb_base_of_ages",
    "wfdb_label_of_60000",
}


@pytest.mark.parametrize("name", [name for name in FILES if name not in HEAVY])
def test_a_hostile_file_is_answered(name):
    outcome = read_and_check(name)
    assert (outcome == "read") == (name in READ)
    assert len(outcome) < 400 and outcome.isprintable()


@pytest.mark.slow
@pytest.mark.parametrize(
    "name",
    [pytest.param(name, marks=[] if name in BY_DAY else pytest.mark.night) for name in HEAVY],
)
def test_a_heavy_file_stays_within_time_and_memory(name):
    # Measuring what a test reaches would count as time of the reader.
    unmeasured = {key: value for key, value in os.environ.items() if "COVERAGE" not in key}
    run = subprocess.run(
        [sys.executable, "-W", "error", "-m", "tests.readiness.signal.readers.hostile_files", name],
        env=unmeasured,
        capture_output=True,
        text=True,
        timeout=600,
        check=True,
    )
    told = json.loads(run.stdout)
    assert (told["outcome"] == "read") == (name in READ)
    # The module reads each file twice, as a capture and for the preview.
    assert told["seconds"] < 10.0 and told["peak_mb"] < 200.0


def test_a_file_above_the_limit_is_refused_unread(tmp_path):
    path = tmp_path / "big.csv"
    with path.open("wb") as stream:
        stream.truncate(MAX_BYTES + 1)
    with pytest.raises(CaptureRefused, match="at most 32 MiB"):
        read_capture(str(path))
    with pytest.raises(CaptureRefused, match="at most 32 MiB"):
        read_capture("big.csv", bytes(MAX_BYTES + 1))


def test_a_path_that_is_no_file_is_refused(tmp_path):
    for path in (tmp_path, tmp_path / "absent.csv", "a\x00b.csv"):
        with pytest.raises(CaptureRefused):
            read_capture(str(path))
