"""Bytes of a roster file become rows of text, or a sentence that says why not."""

import pytest

from rentals.roster.reading import read_roster
from rentals.roster.sheet import (
    MAX_BYTES,
    MAX_ROWS,
    RosterUnreadable,
)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "empty"),
        (b" \r\n\t", "empty"),
        (b"\xff\xfe", "empty"),
        (b",,,\n,,\n", "empty"),
        (b"%PDF-1.7 ...", "PDF"),
        (b"\x89PNG\r\n\x1a\n" + bytes(50), "picture"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "old kind"),
        (bytes(range(256)) * 4, "not a table"),
        (b"PK\x03\x04 but no archive", "damaged"),
        (b'Name,E-mail\n"A,a@x.example\nB,b\nC,c\nD,d\nE,e\n', "never closed"),
        (b"Name,E-mail\n" + b'"' + b"x" * 200_000, "quotation mark"),
        (b",".join([b"x"] * 80) + b"\n", "60 are read"),
        (b"x" * (MAX_BYTES + 1), "larger than 4 MB"),
        (b"A,B\n" + b"x,y\n" * (MAX_ROWS + 1), "5,000 rows"),
    ],
)
def test_what_cannot_be_read_is_refused_in_a_sentence(content: bytes, said: str) -> None:
    with pytest.raises(RosterUnreadable, match=said):
        read_roster(content)


def test_five_thousand_rows_are_read() -> None:
    content = b"Name,E-mail\n" + b"".join(b"P%d,p%d@x.example\n" % (n, n) for n in range(MAX_ROWS))
    assert len(read_roster(content).rows) == MAX_ROWS + 1
