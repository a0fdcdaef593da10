"""Geometry of the chart of lead sets that outlast so many loans: the share as steps, its interval
as a shade, a tick for each set still in use. Pure; the page draws it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from .survival import SurvivalCurve

WIDTH, HEIGHT = 400, 230
LEFT, RIGHT, TOP, BOTTOM = 44, 12, 14, 42
MOST_MARKS = 8
TICK = 4.0


@dataclass(frozen=True)
class ChartMark:
    """A mark on an axis: where it is and what stands there."""

    at: float
    words: str


@dataclass(frozen=True)
class LifeChart:
    """All that is drawn. `line` and `band` are paths; `ticks` are one path for all sets still in
    use.
    """

    line: str
    band: str
    ticks: str
    across: tuple[ChartMark, ...]
    up: tuple[ChartMark, ...]
    words: str
    left: int = LEFT
    right: int = WIDTH - RIGHT
    top: int = TOP
    bottom: int = HEIGHT - BOTTOM
    numbers_at: int = HEIGHT - BOTTOM + 16
    name_at: int = HEIGHT - 8
    middle: int = (LEFT + WIDTH - RIGHT) // 2
    shares_at: int = LEFT - 5
    width: int = WIDTH
    height: int = HEIGHT


def life_chart(curve: SurvivalCurve) -> LifeChart:
    """The chart of a curve in loans."""
    end = max(curve.seen_until, 1.0)
    times = [0.0, *(step.time for step in curve.steps)]
    bounds = [curve.interval(time) for time in times]
    shares = [curve.share(time) for time in times]
    upper = _steps(times, (high for _, high in bounds), end)
    lower = _steps(times, (low for low, _ in bounds), end)
    still = sorted({life.time for life in curve.lifetimes if not life.ended})
    return LifeChart(
        line=_path(_steps(times, shares, end), end),
        band=_path([*upper, *reversed(lower)], end) + "Z",
        ticks="".join(_tick(time, curve.share(time), end) for time in still),
        across=tuple(_marks(end)),
        up=tuple(ChartMark(_y(share / 100), f"{share} %") for share in (0, 50, 100)),
        words=_words(curve),
    )


def _steps(times: list[float], heights: Iterable[float], end: float) -> list[tuple[float, float]]:
    """The corners of a line that stays level from one time to the next."""
    corners: list[tuple[float, float]] = []
    for time, height in zip(times, heights, strict=True):
        if corners:
            corners.append((time, corners[-1][1]))
        corners.append((time, height))
    return [*corners, (end, corners[-1][1])]


def _path(corners: Iterable[tuple[float, float]], end: float) -> str:
    return "M" + "L".join(f"{_x(time, end):.1f} {_y(share):.1f}" for time, share in corners)


def _tick(time: float, share: float, end: float) -> str:
    return f"M{_x(time, end):.1f} {_y(share) - TICK:.1f}v{2 * TICK:.0f}"


def _marks(end: float) -> Iterable[ChartMark]:
    step = max(1, -(-int(end) // MOST_MARKS))
    for number in range(0, int(end) + 1, step):
        yield ChartMark(_x(number, end), str(number))


def _words(curve: SurvivalCurve) -> str:
    """The steps as text, for who does not see them."""
    if not curve.steps:
        return f"No set has ended within {curve.seen_until:g} loans"
    return "; ".join(
        f"after {step.time:g} loans {round(step.share * 100)} %" for step in curve.steps
    )


def _x(time: float, end: float) -> float:
    return LEFT + time / end * (WIDTH - LEFT - RIGHT)


def _y(share: float) -> float:
    return HEIGHT - BOTTOM - share * (HEIGHT - BOTTOM - TOP)
