"""Refusals of a capture file, each a sentence for the person at the bench."""

from __future__ import annotations

MISSING_COLUMN = "column"
"""As `missing` of a refusal: nobody said which column is the signal."""
ASKED_WITH_COLUMNS = (MISSING_COLUMN, "scale")
"""Facts that are told once for all files of a layout, on the page of their columns."""


class CaptureRefused(ValueError):
    """A file that cannot be scored.

    Parameters
    ----------
    fault : str
        What is wrong and where; where no answer mends it, also what to do about it.
    missing : str
        Name of the one fact that would make the file readable (``"rate"``, ``"unit"``, ``"test"``,
        ``"column"``, ``"window"``, ``"scale"``), or empty when no answer can mend it. Screens ask
        for it; the command line names its option.
    answer : str
        How that fact is given to the command: in the file, or by an option.

    Attributes
    ----------
    fault, missing, answer : str
        As above.
    sentence : str
        Fault and answer together.
    on_screen : str
        The fault, and how the fact is given on the pages of the desk.
    """

    def __init__(self, fault: str, *, missing: str = "", answer: str = "") -> None:
        # A sentence may quote a damaged file; no control character of it reaches a screen or a
        # terminal.
        fault = "".join(c if c.isprintable() else "\ufffd" for c in fault)
        self.sentence = f"{fault} {answer}" if answer else fault
        super().__init__(self.sentence)
        self.on_screen = f"{fault} {_ON_SCREEN[missing]}" if answer else fault
        self.fault, self.missing, self.answer = fault, missing, answer


#: How the pages take the fact that is missing, by its name.
_ON_SCREEN = {
    "column": "Say which column is what.",
    "rate": "Fill in the sampling rate.",
    "scale": "Fill in the voltage at full scale.",
    "test": "Choose the test.",
    "unit": "Choose the unit of the EMG.",
    "window": "Fill in the start of the ten seconds.",
}
