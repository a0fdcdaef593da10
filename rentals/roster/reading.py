"""The way in: bytes of an uploaded roster to a sheet, by what the bytes are and not by the file's
name.
"""

from __future__ import annotations

from .sheet import MAX_BYTES, TOO_LARGE, RosterSheet, RosterUnreadable
from .text_table import read_text_table
from .workbook import read_workbook

_OLD_WORKBOOK = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_OTHERS = {
    b"%PDF": "a PDF",
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"{\\rtf": "a text document",
}


def read_roster(content: bytes, letters: str = "") -> RosterSheet:
    """Rows of a roster file, CSV or XLSX.

    Parameters
    ----------
    content : bytes
        The whole file, at most `MAX_BYTES`.
    letters : str
        One of `letters.ENCODINGS` that a person chose for a text file; else it is found.

    Raises
    ------
    RosterUnreadable
        With a sentence for the sender: empty, too large, another kind of file, damaged or hostile.
    """
    if not content.strip(b"\0 \t\r\n\xef\xbb\xbf"):
        raise RosterUnreadable("The file is empty: there is nothing in it.")
    if len(content) > MAX_BYTES:
        raise RosterUnreadable(TOO_LARGE)
    if content.startswith(_OLD_WORKBOOK):
        raise RosterUnreadable(
            "This is a workbook of the old kind, or one locked with a password. Save it as XLSX or"
            " CSV and send that."
        )
    for start, what in _OTHERS.items():
        if content.startswith(start):
            raise RosterUnreadable(
                f"This is {what}, not a table. Save the roster as CSV or XLSX and send that."
            )
    if content.startswith(b"PK"):
        return read_workbook(content)
    return read_text_table(content, letters)
