"""Bytes of a text, whatever program wrote them."""

from __future__ import annotations

import pytest

from readiness.signal.errors import CaptureRefused
from readiness.signal.readers.encoding import MAX_LINE, decode_line, plain_text

TEXT = "emg (\u00b5V)\n1.5\n2.5"


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize(
    ("encoding", "name"),
    [
        ("utf-8", "utf-8"),
        ("utf-8-sig", "utf-8"),
        ("utf-16-le", "utf-16-le"),
        ("utf-16-be", "utf-16-be"),
    ],
)
def test_lines_come_out_alike(encoding, name, end):
    data = (TEXT.replace("\n", end) + end * 2).encode(encoding)
    assert plain_text(data) == (TEXT.encode(), name)


@pytest.mark.parametrize("mark", [b"\xff\xfe", b"\xfe\xff"])
def test_a_byte_order_mark_names_the_encoding(mark):
    encoding = "utf-16-le" if mark[0] == 0xFF else "utf-16-be"
    assert plain_text(mark + TEXT.encode(encoding)) == (TEXT.encode(), encoding)


def test_latin_1_is_taken_line_by_line():
    assert decode_line("\u00b5V".encode("latin-1"), "utf-8") == "\u00b5V"
    with pytest.raises(CaptureRefused, match="damaged UTF-16"):
        decode_line(b"\xff", "utf-16-le")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"1.5\n\x002.5", "NUL bytes"),
        (b"1.5\n\x012.5", "control characters"),
        (b"\xff\xfe\x00\xd8\x00\xd8", "damaged further on"),
        (b"1" * (MAX_LINE + 1) + b"\n1", "longer than"),
        (b"1\n" + b"1" * 3 * MAX_LINE, "longer than"),
    ],
)
def test_what_is_no_text_of_rows_is_refused(data, words):
    with pytest.raises(CaptureRefused, match=words):
        plain_text(data)


def test_the_longest_line_is_taken():
    line = b"1" * MAX_LINE
    assert plain_text(line + b"\n" + line)[0] == line + b"\n" + line
