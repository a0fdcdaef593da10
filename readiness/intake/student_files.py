"""Which files a student may send, told by size and name alone, before a byte is read. Pure."""

from __future__ import annotations

MOST_BYTES = 8 * 1024 * 1024
"""Ten seconds of three channels at 4,000 Hz as text take some 3 MB."""
FORM_BYTES = 64 * 1024
"""What a form adds around its file."""
ENDINGS = (".csv", ".tsv", ".txt", ".edf", ".bdf", ".wav")


def is_too_large(request_bytes: int | None) -> bool:
    """Whether a request that says so of its length cannot be a form with a file that is taken; one
    that does not say it is not read either.
    """
    return request_bytes is None or request_bytes > MOST_BYTES + FORM_BYTES


def has_known_ending(name: str) -> bool:
    """Whether a file is named like a recording."""
    return name.lower().endswith(ENDINGS)
