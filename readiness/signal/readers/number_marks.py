"""Numbers as other programs dress them, undressed before the rows are read: thousands separators, a
typographic minus, a Fortran exponent.

A mark is taken away only where it can mean nothing else. A comma or a point between thousands is
known by numbers of the same file that hold both marks (``1,234.56``); where none does, it stays.
"""

from __future__ import annotations

import re

MOST_BYTES = 8 * 2**20
"""Ten seconds of a few channels are far below this; what is larger is read as it stands."""
TAIL_BYTES = 4096
"""The last rows show how the rows of a text are parted."""
MINUS = "\u2212".encode()
_EXPONENT = re.compile(rb"(?<=[\d.])[dD](?=[+-]\d)")
_THOUSANDS = rb"[1-9]\d{0,2}(?:%b\d{3})+"
_FREE = rb"(?<![\d.,])"
_QUOTED = rb'"[+-]?'
"""What stands before a number: nothing of a number, or the quotation mark of its cell."""
TICK = b"'"
BLANKS_AND_TICKS = (TICK, *(mark.encode() for mark in "\u2019\u00a0\u202f"), b"\xa0")
"""The last is a fixed blank in Latin-1."""


def plain_numbers(plain: bytes) -> bytes:
    """A text of ``plain_text`` whose numbers carry a decimal mark and nothing else."""
    if len(plain) > MOST_BYTES:
        return plain
    ascii_only = plain.isascii()
    if not ascii_only:
        plain = plain.replace(MINUS, b"-")
    tail = plain[-TAIL_BYTES:]
    if (b"d" in tail or b"D" in tail) and _EXPONENT.search(tail):
        plain = _EXPONENT.sub(b"e", plain)
    for mark in (TICK,) if ascii_only else BLANKS_AND_TICKS:
        if mark in plain:
            plain = _without(mark, re.compile(_FREE + _THOUSANDS % mark + rb"(?!\d)"), plain)
    if b"," not in plain or b"." not in plain:
        return plain
    if b";" in tail or b"\t" in tail:
        return _ungrouped(plain, _FREE)
    # Between commas only a cell in quotes can hold one.
    return _ungrouped(plain, _QUOTED) if b'"' in tail else plain


def _ungrouped(plain: bytes, before: bytes) -> bytes:
    for mark, decimal in ((b",", rb"\."), (rb"\.", b",")):
        thousands = before + _THOUSANDS % mark
        if re.search(thousands + decimal + rb"\d", plain):
            pattern = re.compile(thousands + rb"(?![\d%b])" % mark)
            return _without(mark[-1:], pattern, plain)
    return plain


def _without(mark: bytes, numbers: re.Pattern[bytes], plain: bytes) -> bytes:
    return numbers.sub(lambda number: number[0].replace(mark, b""), plain)
