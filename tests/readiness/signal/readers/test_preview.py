"""What the column page shows of a file, read or not."""

from __future__ import annotations

from readiness.signal.readers import preview

from .capture_files import rows, trace
from .edf_bytes import noise_file


def test_a_preview_lists_all_that_lacks():
    seen = preview("a.csv", ("left,right\n" + rows(trace(), trace())).encode())
    assert seen.missing == ("column", "rate", "test")
    assert len(seen.refusals) == 3
    assert [c.label for c in seen.columns] == ["left", "right"]
    assert seen.rows[0] == (f"{trace()[0]:.4f}", f"{trace()[0]:.4f}")


def test_a_preview_of_a_file_without_facts():
    seen = preview("a.edf", noise_file(recording="X").with_signal(unit="").to_bytes())
    assert seen.missing == ("unit", "test") and seen.format == "EDF"
    assert seen.columns[0].rate_hz == 500.0 and len(seen.rows) == 8
