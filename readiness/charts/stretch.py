"""Which stretch of a trace is drawn, and the stretches beside it: closer, wider, earlier, later."""

from __future__ import annotations

import math
from dataclasses import dataclass

SHORTEST_S = 0.1
"""No stretch is shorter: a hundred samples at a kilohertz, each to be seen by itself."""
CLOSER = 2.0
AROUND_EVENT_S = 0.25


@dataclass(frozen=True)
class Stretch:
    """A part of a trace, from ``start_s`` to ``end_s`` of its ``whole_s`` seconds."""

    start_s: float
    end_s: float
    whole_s: float

    @property
    def length_s(self) -> float:
        """How long it is, in seconds."""
        return self.end_s - self.start_s

    @property
    def is_whole(self) -> bool:
        """Whether it is all of the trace."""
        return self.length_s >= self.whole_s

    def holds(self, moment_s: float) -> bool:
        """Whether a moment, in seconds, lies in it."""
        return self.start_s <= moment_s <= self.end_s

    @property
    def closer(self) -> Stretch:
        """Its middle half."""
        return self._about_its_middle(self.length_s / CLOSER)

    @property
    def wider(self) -> Stretch:
        """Twice as long, about the same middle."""
        return self._about_its_middle(self.length_s * CLOSER)

    @property
    def earlier(self) -> Stretch:
        """As long, half its length before."""
        return self._moved(-self.length_s / 2)

    @property
    def later(self) -> Stretch:
        """As long, half its length after."""
        return self._moved(self.length_s / 2)

    def _about_its_middle(self, length_s: float) -> Stretch:
        middle_s = (self.start_s + self.end_s) / 2
        return within(middle_s - length_s / 2, middle_s + length_s / 2, self.whole_s)

    def _moved(self, by_s: float) -> Stretch:
        return within(self.start_s + by_s, self.end_s + by_s, self.whole_s)


def whole(whole_s: float) -> Stretch:
    """All of a trace."""
    return Stretch(0.0, whole_s, whole_s)


def within(start_s: float, end_s: float, whole_s: float) -> Stretch:
    """The stretch between two moments, pushed and cut until it lies in the trace, never shorter
    than ``SHORTEST_S``. Whole milliseconds, so that its address is short.
    """
    length_s = min(max(end_s - start_s, SHORTEST_S), whole_s)
    start_s = min(max(start_s, 0.0), whole_s - length_s)
    return Stretch(round(start_s, 3), round(min(start_s + length_s, whole_s), 3), whole_s)


def around_event(moment_s: float, whole_s: float) -> Stretch:
    """The stretch that shows one event, in seconds, with what is about it."""
    return within(moment_s - AROUND_EVENT_S, moment_s + AROUND_EVENT_S, whole_s)


def read_stretch(start: str, end: str, whole_s: float) -> Stretch:
    """The stretch that an address asks for; what cannot be one gives the whole trace."""
    start_s, end_s = _seconds(start, 0.0), _seconds(end, whole_s)
    if start_s is None or end_s is None or end_s <= start_s:
        return whole(whole_s)
    return within(start_s, end_s, whole_s)


def _seconds(text: str, unsaid_s: float) -> float | None:
    """Seconds as written; `unsaid_s` for nothing, None for what is no number."""
    if not text:
        return unsaid_s
    try:
        seconds = float(text)
    except ValueError:
        return None
    return seconds if math.isfinite(seconds) else None
