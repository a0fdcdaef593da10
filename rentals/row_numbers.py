"""Numbers of rows as addresses and forms send them. Pure; no Django."""

from __future__ import annotations

LONGEST = 18
"""Digits. All numbers of so many fit what a database keeps; comparing a longer one fails there."""


def row_number(text: str) -> int | None:
    """The number that was sent; None where no row can have it."""
    return int(text) if text.isdecimal() and len(text) <= LONGEST else None


class RowNumberConverter:
    """``<row:pk>`` in an address: a longer number is no address of this desk."""

    regex = f"[0-9]{{1,{LONGEST}}}"

    def to_python(self, text: str) -> int:
        """The number in an address that was asked for."""
        return int(text)

    def to_url(self, number: int) -> str:
        """The number as an address holds it."""
        return str(number)
