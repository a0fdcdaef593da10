"""Where an address must stand so that the window of an envelope shows it, and where the sheet is
folded for it.

A4: DIN 5008 form B, whose address zone is what the window of a DL envelope (ISO 269; window after
DIN 680) shows. Letter: the single window of a number 10 envelope, the part that it shows wherever
the sheet lies in it. All measures from memory.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from .ink import GREY, Ink

MM_PER_POINT = 25.4 / 72
_SIZES = (10.5, 10.0, 9.5, 9.0, 8.5, 8.0, 7.5, 7.0, 6.5, 6.0)
_LEADING = 1.2


@dataclass(frozen=True)
class Window:
    """Millimetres from the left and upper edge of the sheet; ``folds`` are those of the sheet."""

    left: float
    top: float
    width: float
    height: float
    folds: tuple[float, ...]
    body_top: float


A4_WINDOW = Window(25.0, 62.7, 80.0, 27.3, (105.0, 210.0), 98.5)
LETTER_WINDOW = Window(25.0, 63.0, 100.0, 17.4, (93.1, 186.3), 98.5)


@dataclass(frozen=True)
class Envelope:
    """Who gets the sheet, line by line; ``sender`` is the small line above it."""

    to: tuple[str, ...]
    sender: str = ""


def window_of(ink: Ink) -> Window:
    """The window for the paper at hand."""
    return LETTER_WINDOW if ink.width_mm > 213 else A4_WINDOW


def draw_envelope(ink: Ink, envelope: Envelope) -> None:
    """The address inside the window, smaller where it is long, the sender above it in small
    print, and the marks to fold by.
    """
    window = window_of(ink)
    if envelope.sender:
        small = {"smallest": 4, "grey": GREY}
        ink.fitted(window.left, window.top - 1.6, envelope.sender, 6.5, window.width, **small)
        ink.rule(window.left, window.top - 0.6, window.width, weight=0.25, grey=GREY)
    size, lines = _that_fits(ink, envelope.to, window)
    y = window.top + size * MM_PER_POINT
    with ink.element("P"):
        for line in lines:
            ink.text(window.left, y, line, size)
            y += size * _LEADING * MM_PER_POINT
    for fold in window.folds:
        ink.rule(4, fold, 4, weight=0.3, grey=GREY)


def _that_fits(ink: Ink, to: Sequence[str], window: Window) -> tuple[float, list[str]]:
    """The largest type in which all lines stand in the window, and the lines in it."""
    lines: list[str] = []
    for size in _SIZES:
        lines = [part for line in to for part in ink.wrapped(line, size, window.width)]
        if len(lines) * size * _LEADING * MM_PER_POINT <= window.height:
            return size, lines
    return _SIZES[-1], lines
