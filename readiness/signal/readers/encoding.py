"""The bytes of a text as lines in one encoding, whatever program wrote them."""

from __future__ import annotations

import codecs

from readiness.signal.errors import CaptureRefused

MAX_LINE = 4096
"""Bytes in a line: 64 columns of 25 characters, and room to spare."""
_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
_PROBED = 400
_PLAIN_CONTROLS = b"\t\n\r\f"
_CONTROLS = bytes(code for code in (*range(32), 127) if code not in _PLAIN_CONTROLS)
_CONTROLS_PROBED = 65_536


def plain_text(data: bytes) -> tuple[bytes, str]:
    """Bytes with ``\\n`` line ends, none at their end, in an encoding that holds ASCII as it is;
    and what the file was encoded in.

    Raises
    ------
    CaptureRefused
        Binary, damaged UTF-16, or a line longer than ``MAX_LINE``.
    """
    encoding, mark_size = _encoding_of(data)
    plain = data[mark_size:] if mark_size else data
    if encoding.startswith("utf-16"):
        plain = _recoded(plain, encoding)
    _refuse_binary(plain)
    if b"\r" in plain:
        plain = plain.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
    plain = plain.rstrip(b"\n")
    _check_line_lengths(plain)
    return plain, encoding


def decode_line(line: bytes, encoding: str) -> str:
    """A line of ``plain_text`` as text; Latin-1 where it is no UTF-8."""
    try:
        return line.decode("utf-8")
    except UnicodeDecodeError:
        if encoding.startswith("utf-16"):
            raise CaptureRefused(
                "The file holds damaged UTF-16 text. Export the capture again, as UTF-8."
            ) from None
        return line.decode("latin-1")


def _encoding_of(data: bytes) -> tuple[str, int]:
    """Name of the encoding, and how many bytes its byte order mark takes."""
    for mark, name in _MARKS:
        if data.startswith(mark):
            return name, len(mark)
    even, odd = data[:_PROBED:2], data[1:_PROBED:2]
    if _is_high_half(odd) and not even.count(0):
        return "utf-16-le", 0
    if _is_high_half(even) and not odd.count(0):
        return "utf-16-be", 0
    return "utf-8", 0


def _is_high_half(half: bytes) -> bool:
    """Whether every second byte is the empty high byte of a Latin letter or digit."""
    return half[:1] == b"\x00" and half.count(0) > 0.9 * len(half)


def _recoded(data: bytes, encoding: str) -> bytes:
    try:
        return data.decode(encoding).encode("utf-8")
    except UnicodeError as error:
        raise CaptureRefused(
            "The file begins like UTF-16 text and is damaged further on. Export the capture"
            " again, as UTF-8."
        ) from error


def _refuse_binary(data: bytes) -> None:
    """Refuse NUL bytes anywhere, and control characters in the first 64 KiB."""
    if b"\x00" in data:
        raise CaptureRefused(
            "The file holds NUL bytes: it is binary, not a text of numbers. Export the capture"
            " as CSV, EDF or BDF."
        )
    head = data[:_CONTROLS_PROBED]
    if len(head.translate(None, _CONTROLS)) != len(head):
        raise CaptureRefused(
            "The file holds control characters: it is binary, not a text of numbers. Export the"
            " capture as CSV, EDF or BDF."
        )


def _check_line_lengths(data: bytes) -> None:
    """Refuse a line above ``MAX_LINE`` bytes: a longer one holds a whole block without a line
    end.
    """
    block = MAX_LINE // 2
    for start in range(0, len(data) - block, block):
        has_end = data.find(b"\n", start, start + block) >= 0
        if not has_end and _line_length(data, start) > MAX_LINE:
            raise CaptureRefused(
                f"A line is longer than {MAX_LINE} characters: it is no table with one row a"
                " sample. Export the capture as CSV, one row a sample."
            )


def _line_length(data: bytes, inside: int) -> int:
    """Length of the line round an offset, counted no further than ``MAX_LINE`` to either side."""
    earliest = max(0, inside - MAX_LINE - 1)
    latest = min(len(data), inside + MAX_LINE + 1)
    begin = data.rfind(b"\n", earliest, inside)
    end = data.find(b"\n", inside, latest)
    begin = earliest - 1 if begin < 0 else begin
    end = latest if end < 0 else end
    return end - begin - 1
