"""Refusals of a capture file, each a sentence for the person at the bench."""

from __future__ import annotations

MISSING_COLUMN = "column"
"""As `missing` of a refusal: nobody said which column is the signal."""


class CaptureRefused(ValueError):
    """A file that cannot be scored.

    Parameters
    ----------
    sentence : str
        What is wrong, where, and what to do about it; shown to the user as it stands.
    missing : str
        Name of the one fact that would make the file readable (``"rate"``, ``"unit"``, ``"test"``,
        ``"column"``, ``"window"``), or empty when no answer can mend it. Screens ask for it; the
        command line names its option.
    """

    def __init__(self, sentence: str, *, missing: str = "") -> None:
        # A sentence may quote a damaged file; no control character of it reaches a screen or a
        # terminal.
        sentence = "".join(c if c.isprintable() else "\ufffd" for c in sentence)
        super().__init__(sentence)
        self.sentence = sentence
        self.missing = missing
