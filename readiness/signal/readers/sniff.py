"""What a file is by its first bytes, whatever its name says."""

from __future__ import annotations

from readiness.signal.errors import CaptureRefused

_MAGIC = (
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
    (b"<", "a web page or XML file"),
)
_PLAIN_CONTROLS = b"\t\n\r\f"
_CONTROLS = bytes(code for code in (*range(32), 127) if code not in _PLAIN_CONTROLS)
_HEAD = 65_536


def kind_of(name: str, data: bytes) -> str:
    """``"edf"``, ``"bdf"`` or ``"text"``.

    Raises
    ------
    CaptureRefused
        The bytes are those of another kind of file, or of none that is known.
    """
    if is_bdf(data):
        return "bdf"
    if is_edf(data):
        return "edf"
    for magic, what in _MAGIC:
        if data.lstrip(b" \t\r\n").startswith(magic) if magic == b"<" else data.startswith(magic):
            raise CaptureRefused(
                f"This is {what}, not a capture. Export the capture as CSV, EDF or BDF."
            )
    ending = name.rsplit(".", 1)[-1].lower() if "." in name else ""
    if ending in ("edf", "bdf", "rec"):
        raise CaptureRefused(
            f"The file is named .{ending} but does not begin like an EDF or BDF file: it is"
            " damaged, or another kind."
        )
    return "text"


def is_edf(data: bytes) -> bool:
    """Whether the bytes begin with the EDF version field (``0`` and seven spaces) and no line of
    text.
    """
    return data.startswith(b"0       ") and b"\n" not in data[:256]


def is_bdf(data: bytes) -> bool:
    """Whether the bytes begin with the BDF identification: FF hex and seven capital letters."""
    return data[:1] == b"\xff" and len(data) >= 8 and data[1:8].isalpha() and data[1:8].isupper()


def refuse_binary(data: bytes) -> None:
    """Refuse a text with NUL bytes, or with control characters in its first 64 KiB."""
    if b"\x00" in data:
        raise CaptureRefused("The file holds NUL bytes: it is binary, not a text of numbers.")
    head = data[:_HEAD]
    if len(head.translate(None, _CONTROLS)) != len(head):
        raise CaptureRefused(
            "The file holds control characters: it is binary, not a text of numbers."
        )
