"""Geometry of the chart of a run's chances: a bar for each number of kits, as high as the chance
that so many or more are ready. Pure; the page draws it.
"""

from __future__ import annotations

from dataclasses import dataclass

from rentals.planning.chance_words import UNIT, percent
from rentals.planning.run_chance import GOAL, RunChance

WIDTH, HEIGHT = 400, 210
LEFT, RIGHT, TOP, BOTTOM = 40, 8, 24, 38
MOST_BARS = 11
SURE, HOPELESS = 0.995, 0.005


@dataclass(frozen=True)
class ChanceBar:
    """One bar: `middle` is where its words stand, `needed` whether it is the number that
    serves everybody."""

    number: int
    x: float
    y: float
    width: float
    height: float
    words: str
    needed: bool

    @property
    def box(self) -> str:
        """The bar as the path of an SVG drawing."""
        size = f"h{self.width:.1f}v{self.height:.1f}h-{self.width:.1f}z"
        return f"M{self.x:.1f} {self.y:.1f}{size}"

    @property
    def look(self) -> str:
        """Its class in the stylesheet."""
        return "chance-needed" if self.needed else "chance-bar"

    @property
    def middle(self) -> str:
        return f"{self.x + self.width / 2:.1f}"

    @property
    def short(self) -> str:
        """The percentage without its unit."""
        return self.words.removesuffix(UNIT).replace("less than ", "<").replace("more than ", ">")

    @property
    def above(self) -> str:
        """Where the words above the bar stand."""
        return f"{self.y - 4:.1f}"


@dataclass(frozen=True)
class ChanceChart:
    """All that is drawn. `goal` is the height of the line of 95 %."""

    bars: tuple[ChanceBar, ...]
    goal: float
    numbers_at: int = HEIGHT - BOTTOM + 16
    needed_at: int = HEIGHT - BOTTOM + 32
    goal_at: int = LEFT - 4
    left: int = LEFT
    right: int = WIDTH - RIGHT
    width: int = WIDTH
    height: int = HEIGHT

    @property
    def goal_words_at(self) -> str:
        return f"{self.goal:.1f}"

    @property
    def goal_line(self) -> str:
        """The line of 95 % as the path of an SVG drawing."""
        return f"M{self.left} {self.goal:.1f}H{self.right}"

    @property
    def words(self) -> str:
        """The bars as text, for who does not see them."""
        return "; ".join(f"{bar.number} or more: {bar.words}" for bar in self.bars)


def chance_chart(chance: RunChance) -> ChanceChart:
    """The bars around the number that is needed."""
    numbers = _numbers(chance)
    step = (WIDTH - LEFT - RIGHT) / len(numbers)
    bars = []
    for place, number in enumerate(numbers):
        share = chance.at_least(number)
        top = _height(share)
        width = min(step * 0.8, 44)
        x = LEFT + step * (place + 0.5) - width / 2
        tall = HEIGHT - BOTTOM - top
        needed = number == chance.need
        bars.append(ChanceBar(number, x, top, width, tall, percent(share), needed))
    return ChanceChart(tuple(bars), _height(GOAL))


def _height(share: float) -> float:
    return HEIGHT - BOTTOM - share * (HEIGHT - BOTTOM - TOP)


def _numbers(chance: RunChance) -> list[int]:
    """Numbers whose chance is open, the needed one among them, no more than fit on a phone."""
    open_ones = [k for k in range(1, len(chance.law)) if HOPELESS < chance.at_least(k) < SURE]
    first = min([chance.need, *open_ones])
    last = max([chance.need, *open_ones])
    first = max(first - 1, 1)
    last += chance.at_least(last + 1) > 0
    if last - first >= MOST_BARS:
        first = max(first, min(chance.need - MOST_BARS // 2, last - MOST_BARS + 1))
        last = first + MOST_BARS - 1
    return list(range(first, last + 1))
