"""Whatever dialect a capture is written in, the same microvolts come out."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from readiness.signal.capture import Declared
from readiness.signal.errors import CaptureRefused
from readiness.signal.readers import ColumnMap, MappedColumn, preview, read_capture

COUNT = 3000
RATE = 300.0
FACTOR = {"V": 1e6, "mV": 1e3, "uV": 1.0, "\u00b5V": 1.0, "\u03bcV": 1.0, "nV": 1e-3}
ENCODINGS = ("utf-8", "utf-8-sig", "utf-16-le", "utf-16-be", "utf-16", "latin-1")


@st.composite
def dialects(draw):
    delimiter = draw(st.sampled_from([",", ";", "\t", " ", ", ", "  "]))
    encoding = draw(st.sampled_from(ENCODINGS))
    units = [unit for unit in FACTOR if encoding != "latin-1" or unit != "\u03bcV"]
    return {
        "delimiter": delimiter,
        "decimal": draw(st.sampled_from([".", ","] if delimiter.strip() != "," else ["."])),
        "encoding": encoding,
        "end": draw(st.sampled_from(["\n", "\r\n", "\r"])),
        "unit": draw(st.sampled_from(units)),
        "unit_in": draw(st.sampled_from(["header", "name", "row"])),
        "time": draw(st.sampled_from(["none", "s", "ms"])),
        "battery": draw(st.booleans()),
        "final_end": draw(st.booleans()),
        "seed": draw(st.integers(0, 2**32 - 1)),
        "amplitude": draw(st.sampled_from([0.5, 20.0, 4000.0])),
    }


def written(dialect) -> tuple[bytes, np.ndarray]:
    microvolts = np.round(
        np.random.default_rng(dialect["seed"]).normal(0, dialect["amplitude"], COUNT), 3
    )
    unit, place = dialect["unit"], dialect["unit_in"]
    scaled = microvolts / FACTOR[unit]
    columns = [("emg", [f"{x:.10f}" for x in scaled], unit)]
    if dialect["time"] != "none":
        scale = 1000.0 if dialect["time"] == "ms" else 1.0
        columns.insert(
            0, ("time", [f"{i / RATE * scale:.6f}" for i in range(COUNT)], dialect["time"])
        )
    if dialect["battery"]:
        columns.append(("battery", ["2.950"] * COUNT, "V"))
    own = dialect["delimiter"]
    lines = [
        "# kit: KD-1",
        "# test: still",
        "# rate_hz: 300" + (",0" if dialect["decimal"] == "," else ".0"),
    ]
    named = place == "name" and own.strip()
    if place == "header" or (place == "name" and not named):
        lines.append(f"# unit: {unit}")
    names = []
    for name, _, column_unit in columns:
        if named:
            names.append(f"{name} ({column_unit})")
        elif name == "emg" or place == "row":
            names.append(name)
        else:
            names.append(f"{name}_{column_unit}")
    lines.append(own.join(names))
    if place == "row":
        lines.append(own.join(column_unit for _, _, column_unit in columns))
    for cells in zip(*(values for _, values, _ in columns), strict=True):
        lines.append(own.join(cell.replace(".", dialect["decimal"]) for cell in cells))
    text = dialect["end"].join(lines) + (dialect["end"] if dialect["final_end"] else "")
    return text.encode(dialect["encoding"]), microvolts


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(dialects())
def test_every_dialect_gives_the_same_microvolts(dialect):
    data, microvolts = written(dialect)
    capture = read_capture("a.txt", data)
    np.testing.assert_allclose(
        capture.emg.samples, microvolts, rtol=0, atol=2e-4 * max(1.0, FACTOR[dialect["unit"]] / 1e3)
    )
    assert capture.rate_hz == RATE and capture.notes == ()
    assert (capture.battery_v is not None) == dialect["battery"]


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(dialects())
def test_the_preview_tells_the_dialect(dialect):
    data, _ = written(dialect)
    seen = preview("a.txt", data)
    assert seen.missing == () and seen.refusals == ()
    columns = 1 + (dialect["time"] != "none") + dialect["battery"]
    assert len(seen.columns) == columns and len(seen.rows[0]) == columns
    if columns > 1:
        assert seen.delimiter == (dialect["delimiter"].strip(" ") or " ")
        assert seen.decimal == dialect["decimal"]


def test_two_whole_numbers_or_one_decimal_comma_are_asked_for():
    data = b"# test: still\n# unit: uV\n# rate_hz: 300\n" + b"1,25\n" * COUNT
    with pytest.raises(CaptureRefused) as caught:
        read_capture("a.csv", data)
    assert caught.value.missing == "column"
    signature = preview("a.csv", data).signature
    two = ColumnMap((MappedColumn(1, "emg", "uV"),), signature, delimiter=",")
    assert read_capture("a.csv", data, Declared(columns=two)).emg.samples[0] == 25.0
    one = ColumnMap((MappedColumn(0, "emg", "uV"),), "1 columns without names", decimal=",")
    assert read_capture("a.csv", data, Declared(columns=one)).emg.samples[0] == 1.25


def test_a_single_named_column_with_decimal_comma_is_read():
    data = b"# test: still\n# rate_hz: 300\nemg_uV\n" + b"-1,25\n" * COUNT
    assert read_capture("a.csv", data).emg.samples[0] == -1.25
