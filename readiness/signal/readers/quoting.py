"""Words of a file, quoted in a sentence for the screen."""

from __future__ import annotations


def quoted(text: str, longest: int = 40) -> str:
    """The text in quotes, cut after ``longest`` characters, everything unprintable written as an
    escape.
    """
    short = text.strip()
    return repr(short if len(short) <= longest else short[: longest - 3] + "...")
