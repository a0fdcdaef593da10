"""Numbers with their noun: ``1 day``, ``12 kits``. Pure; no Django."""

from __future__ import annotations


def counted(number: int, singular: str, plural: str) -> str:
    """The number and the form of the noun that goes with it."""
    return f"{number} {singular if number == 1 else plural}"


def pieces(number: int, name: str) -> str:
    """A line of a list with how many pieces it has: ``2 × Charging cable``; one goes unsaid."""
    return name if number == 1 else f"{number} × {name}"
