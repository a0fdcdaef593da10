"""What stands above the numbers."""

from __future__ import annotations

import pytest

from readiness.signal.errors import CaptureRefused
from readiness.signal.readers.heading import find_heading, head_lines, header_words


def heading(text: str, delimiter: str = ",", decimal: str = "."):
    return find_heading(head_lines(text.encode(), "utf-8").lines, delimiter, decimal)


def test_names_and_units_stand_above_the_numbers():
    found = heading("Exported by a program\ntime, emg\ns, uV\n0.0,1.5\n0.1,2.5")
    assert [line.text for line in found.preamble] == ["Exported by a program"]
    assert found.names == ("time", "emg") and found.units == ("s", "uV")
    assert (found.rows[0].line.number, found.rows[0].cells) == (4, ("0.0", "1.5"))


def test_numbers_alone_have_no_names():
    found = heading("0.0,1.5\n0.1,2.5")
    assert found.names is None and found.units is None and len(found.rows) == 2


def test_some_columns_may_be_called_by_a_number():
    assert heading("time,1,2\n0.0,1.5,2.5").names == ("time", "1", "2")
    assert heading("1,x\n0.0,1.5").names is None


@pytest.mark.parametrize("names", ["emg,b,", "emg"])
def test_an_empty_cell_at_the_end_is_no_name(names):
    rows = "1.5,2.5\n" if names.endswith(",") else "1.5,\n2.5,\n"
    assert len(heading(f"{names}\n{rows}").names) == 2


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a,b,c\n1.5,2.5", "row of names has 3 columns and line 2 has 2"),
        ("time,emg\nc,d\n1.5,2.5", "where numbers are expected"),
        ("a,b\nc,d", "no row of numbers"),
    ],
)
def test_words_that_do_not_fit_are_refused(text, words):
    with pytest.raises(CaptureRefused, match=words):
        heading(text)


def test_header_lines_end_where_numbers_begin():
    top = head_lines(b'# a: 1\n"# b: 2"\n% t emg\nemg\n1.5\n# c: 3\n2.5', "utf-8")
    assert [comment.strip() for comment in top.comments] == ["a: 1", "b: 2"]
    assert top.nearest == "t emg"
    assert [line.number for line in top.lines] == [4, 5, 6, 7]


def test_header_words_are_keys_and_texts():
    lines = ["kit: KD-1;", "Rate Hz = 500", 'test: "still"', "no fact at all"]
    assert header_words(lines) == {"kit": "KD-1", "rate_hz": "500", "test": "still"}
    with pytest.raises(CaptureRefused, match="says kit twice"):
        header_words(["kit: A", "kit: B"])
