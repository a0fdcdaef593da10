"""Geometry of a report's chart: a bar a line with its name above it and its number at the end, and
a stroke for the interval where there is one. Pure; the page draws it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

WIDTH = 400
LINE = 40
NAME_AT, BAR_AT, THICK = 14, 20, 12
STROKE_END = 4
LONGEST_NAME = 34
MOST_BARS = 12


@dataclass(frozen=True)
class BarFact:
    """What a bar stands for: its name, its value, how that is said, and its interval."""

    name: str
    value: float
    words: str
    bounds: tuple[float, float] | None = None


@dataclass(frozen=True)
class ReportBar:
    """One bar: where its words stand, and its box and stroke as paths."""

    name: str
    words: str
    words_at: int
    box: str
    stroke: str


@dataclass(frozen=True)
class BarChart:
    """All that is drawn. `caption` states the result, `words` are the bars for who does not see
    them.
    """

    title: str
    caption: str
    words: str
    bars: tuple[ReportBar, ...]
    width: int = WIDTH

    @property
    def height(self) -> int:
        return LINE * len(self.bars)

    @property
    def foot(self) -> str:
        """The line that all bars begin at."""
        return f"M0.5 0V{self.height}"


def bar_chart(title: str, caption: str, facts: Sequence[BarFact]) -> BarChart | None:
    """The first bars of `facts`, the longest across the drawing; None where all are nothing. The
    caption begins with the largest, then says how to read it.
    """
    drawn = facts[:MOST_BARS]
    longest = max((_longest(fact) for fact in drawn), default=0.0)
    if longest <= 0:
        return None
    largest = max(drawn, key=lambda fact: fact.value)
    caption = f"Longest is {largest.name}: {largest.words}. {caption}"
    if len(drawn) < len(facts):
        caption = f"{caption} Drawn are the first {MOST_BARS} lines of the table."
    return BarChart(title, caption, _words(drawn), tuple(_bars(drawn, longest)))


def _longest(fact: BarFact) -> float:
    return max(fact.value, fact.bounds[1] if fact.bounds else 0.0)


def _bars(facts: Iterable[BarFact], longest: float) -> Iterable[ReportBar]:
    scale = (WIDTH - STROKE_END) / longest
    for number, fact in enumerate(facts):
        top = LINE * number
        width = fact.value * scale
        box = f"M0 {top + BAR_AT}h{width:.1f}v{THICK}h-{width:.1f}z"
        stroke = _stroke(fact, scale, top)
        yield ReportBar(_short(fact.name), fact.words, top + NAME_AT, box, stroke)


def _stroke(fact: BarFact, scale: float, top: int) -> str:
    """The interval: a line between two ends, above and below the bar's middle."""
    if fact.bounds is None:
        return ""
    low, high = (bound * scale for bound in fact.bounds)
    middle, tall = top + BAR_AT + THICK // 2, 2 * STROKE_END
    ends = "".join(f"M{at:.1f} {middle - STROKE_END}v{tall}" for at in (low, high))
    return f"M{low:.1f} {middle}H{high:.1f}{ends}"


def _short(name: str) -> str:
    return name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1]}…"


def _words(facts: Iterable[BarFact]) -> str:
    return "; ".join(f"{fact.name}: {fact.words}" for fact in facts)
