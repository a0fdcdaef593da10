"""The file formats that are read, and what a file is by its first bytes, whatever its name says."""

from __future__ import annotations

import re

from readiness.signal.errors import CaptureRefused

from . import edf, text, wav, wfdb
from .raw_table import FormatReader

FORMATS = (edf.BDF_READER, edf.EDF_READER, wav.WAV_READER, wfdb.WFDB_READER, text.TEXT_READER)
"""Asked in turn. A new format is a file beside ``edf.py`` and a word here, before the text."""

HEAD = 4096
"""So many bytes are shown to a format to be recognised by."""
_OTHER_KINDS = (
    (b"PK\x03\x04", "a ZIP archive or a spreadsheet workbook"),
    (b"PK\x05\x06", "an empty ZIP archive"),
    (b"\x1f\x8b", "a gzip archive"),
    (b"BZh", "a bzip2 archive"),
    (b"\xfd7zXZ", "an xz archive"),
    (b"7z\xbc\xaf", "a 7z archive"),
    (b"Rar!", "a RAR archive"),
    (b"\x89PNG", "a PNG picture"),
    (b"\xff\xd8\xff", "a JPEG picture"),
    (b"GIF8", "a GIF picture"),
    (b"%PDF", "a PDF document"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet or text document"),
    (b"\x89HDF", "an HDF5 file"),
    (b"RIFF", "a sound or video file"),
    (b"SQLite format 3", "a database"),
    (b"{\\rtf", "a rich-text document"),
    (b"\x93NUMPY", "an array file"),
    (b"PAR1", "a column store"),
    (b"ARROW1", "a column store"),
)
_SOUNDS = (b"fLaC", b"OggS", b"FORM", b"RF64", b"riff", b"ID3", b"caff", b".snd")
_JSON = re.compile(rb"\s*(\{\s*[\"}]|\[\s*[\[{\"\d-][^\n]*,)")
_MARKUP = "a web page or XML file"
_BINARY_ENDINGS = ("edf", "bdf", "rec")


def choose_reader(name: str, data: bytes) -> FormatReader:
    """The reader for a file.

    Raises
    ------
    CaptureRefused
        The bytes are those of another kind of file, or not those its name promises.
    """
    head = data[:HEAD]
    for reader in FORMATS[:-1]:
        if reader.recognises(head, name):
            return reader
    _refuse_half_a_record(head, name)
    _refuse_other_kinds(head)
    _refuse_false_name(name)
    return FORMATS[-1]


def _refuse_half_a_record(head: bytes, name: str) -> None:
    """A WFDB header without its signal file, and the other way round."""
    ending = name.rsplit(".", 1)[-1].lower()
    if ending == "hea":
        raise CaptureRefused(
            "This is a WFDB header; the samples stand in its signal file. Give both files together,"
            " of one name: record.hea and record.dat."
        )
    if ending == "dat" and any(byte < 9 for byte in head):
        raise CaptureRefused(
            "This is a binary signal file. If it is a WFDB record, give its header together with"
            " it: record.hea and record.dat. Else export the capture as CSV, EDF or BDF."
        )


def _refuse_other_kinds(head: bytes) -> None:
    kinds = (what for magic, what in _OTHER_KINDS if head.startswith(magic))
    kind = next(kinds, "")
    if head.lstrip(b" \t\r\n").startswith(b"<"):
        kind = _MARKUP
    if _JSON.match(head):
        kind = "a JSON text"
    if head.startswith(_SOUNDS):
        raise CaptureRefused(
            "This is a sound file of another kind than WAV. Export the capture as plain WAV of 16"
            " or 24 bits, or as CSV or EDF."
        )
    if kind:
        raise CaptureRefused(
            f"This is {kind}, not a capture. Export the capture as CSV, EDF or BDF."
        )


def _refuse_false_name(name: str) -> None:
    ending = name.rsplit(".", 1)[-1].lower() if "." in name else ""
    if ending in _BINARY_ENDINGS:
        raise CaptureRefused(
            f"The file is named .{ending} but does not begin like an EDF or BDF file: it is"
            " damaged, or another kind. Export the capture again, as EDF or CSV."
        )
