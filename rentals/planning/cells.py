"""Whether the cells of a kit last its loan, and by which day to charge or replace them. Pure.

Charge is drained by the sessions and lost by itself: dQ/dt = -k Q - u, which gives the days until
the usable charge is gone in closed form. Each figure has a cautious, a likely and a hopeful value,
and so has the answer: cells of one kind differ by a factor of two or more.

All figures of the chemistries are from memory and typical of AAA cells; none is quoted from a data
sheet. For NiMH (IEC 61951-2): at least 60 % left after 28 days, and 500 cycles to 60 % of the
capacity. For alkaline and lithium primary (IEC 60086): shelf lives of 5 to 10 years.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from math import exp, floor, inf, log

_MONTH_DAYS = 30.44
SHORTEST_ROUND_DAYS = 14
"""A student is not reminded more often than every other week."""


@dataclass(frozen=True)
class ThreeWays:
    """A figure as the cautious, the likely and the hopeful take it."""

    cautious: float
    likely: float
    hopeful: float


@dataclass(frozen=True)
class CellKind:
    """What is known of a chemistry: capacity in mAh where none is on file, the share of it that the
    amplifier can use, the share lost in a month by itself, and the share lost for good with each
    charge.
    """

    capacity: ThreeWays
    usable: ThreeWays
    monthly_loss: ThreeWays
    fade: ThreeWays
    rechargeable: bool


_NO_FADE = ThreeWays(0, 0, 0)
KINDS: dict[str, CellKind] = {
    "nimh": CellKind(
        capacity=ThreeWays(600, 750, 900),
        usable=ThreeWays(0.75, 0.85, 0.95),
        monthly_loss=ThreeWays(0.4, 0.2, 0.03),
        fade=ThreeWays(0.0012, 0.0008, 0.0004),
        rechargeable=True,
    ),
    "alkaline": CellKind(
        capacity=ThreeWays(700, 900, 1100),
        usable=ThreeWays(0.7, 0.85, 0.95),
        monthly_loss=ThreeWays(0.005, 0.003, 0.001),
        fade=_NO_FADE,
        rechargeable=False,
    ),
    "lithium": CellKind(
        capacity=ThreeWays(950, 1100, 1200),
        usable=ThreeWays(0.85, 0.9, 0.95),
        monthly_loss=ThreeWays(0.002, 0.001, 0.0005),
        fade=_NO_FADE,
        rechargeable=False,
    ),
}
DRAIN = ThreeWays(1.15, 1.0, 0.9)
"""How far the drain of an amplifier may lie from the figure on file."""
ON_FILE = ThreeWays(0.9, 1.0, 1.0)
"""How far a pack may lie from the capacity on its label."""
LEFT_AT_LEAST = 0.2
"""Nothing is said of a pack faded beyond this share."""


@dataclass(frozen=True)
class CellPack:
    """The cells of a kit, in series: their chemistry, the capacity on file in mAh (None where there
    is none), and how often they were charged.
    """

    chemistry: str
    capacity_mah: int | None = None
    charges: int = 0


@dataclass(frozen=True)
class Practising:
    """What a student does with the kit: sessions a week of so many minutes, from a day to a day,
    with an amplifier that draws `drain_ma`.
    """

    drain_ma: float
    sessions_a_week: int
    minutes: int
    starts_on: date
    ends_on: date

    @property
    def days(self) -> int:
        """Days from the first to the last session, both among them."""
        return max((self.ends_on - self.starts_on).days + 1, 1)

    @property
    def a_day(self) -> float:
        """Charge drained in a day on average, in mAh."""
        return self.drain_ma * self.sessions_a_week * self.minutes / 60 / 7


class CellVerdict(StrEnum):
    """How sure it is that the cells last."""

    LAST = "last"
    PROBABLY = "probably last"
    MAY_NOT = "may not last"
    WILL_NOT = "will not last"


@dataclass(frozen=True)
class CellOutlook:
    """The answer for one loan: whole days of practising that the cells last, cautiously, likely and
    hopefully, of the `days` there are. `act_on` is the first day by which to charge or replace
    them, None where they last; `every` are the days until it is due again.
    """

    verdict: CellVerdict
    lasts: ThreeWays
    days: int
    rechargeable: bool
    ends_on: date
    act_on: date | None = None
    every: int = 0

    def next_on(self, today: date) -> date | None:
        """The first day from today on by which to charge or replace them, before the course
        ends.
        """
        day = self.act_on
        while day is not None and day < today:
            day += timedelta(days=max(self.every, SHORTEST_ROUND_DAYS))
        return day if day is not None and day <= self.ends_on else None


def outlook(pack: CellPack, practising: Practising, full_on: date) -> CellOutlook:
    """Whether a pack that was full on a day lasts.

    Raises ValueError for a chemistry that is none of `KINDS`, or a drain that is not above 0.
    """
    if pack.chemistry not in KINDS:
        raise ValueError(f"{pack.chemistry!r} is no chemistry of {', '.join(KINDS)}.")
    if practising.drain_ma <= 0:
        raise ValueError(f"An amplifier drains its cells; {practising.drain_ma} mA cannot be.")
    rest = max((practising.starts_on - full_on).days, 0)
    lasts = _each(lambda way: _days(pack, practising, rest, way))
    again = _each(lambda way: _days(pack, practising, 0, way))
    days, kind = practising.days, KINDS[pack.chemistry]
    verdict = _verdict(lasts, days)
    act_on = None
    if verdict is not CellVerdict.LAST:
        act_on = practising.starts_on + timedelta(days=max(int(lasts.cautious) - 1, 0))
    every = max(int(again.cautious), 1)
    return CellOutlook(verdict, lasts, days, kind.rechargeable, practising.ends_on, act_on, every)


def _verdict(lasts: ThreeWays, days: int) -> CellVerdict:
    if lasts.cautious >= days:
        return CellVerdict.LAST
    if lasts.likely >= days:
        return CellVerdict.PROBABLY
    return CellVerdict.MAY_NOT if lasts.hopeful >= days else CellVerdict.WILL_NOT


def _each(worked_out: Callable[[str], int]) -> ThreeWays:
    return ThreeWays(worked_out("cautious"), worked_out("likely"), worked_out("hopeful"))


def _days(pack: CellPack, practising: Practising, rest: int, way: str) -> int:
    """Whole days of practising after so many days of rest, as one of the three ways takes it."""
    kind = KINDS[pack.chemistry]
    label = pack.capacity_mah
    capacity = label * getattr(ON_FILE, way) if label else getattr(kind.capacity, way)
    left = max(1 - getattr(kind.fade, way) * pack.charges, LEFT_AT_LEAST)
    usable = capacity * left * getattr(kind.usable, way)
    loss = -log(1 - getattr(kind.monthly_loss, way)) / _MONTH_DAYS
    use = practising.a_day * getattr(DRAIN, way)
    days = days_until_empty(usable * exp(-loss * rest), loss, use)
    return floor(min(days, 10_000.0))


def days_until_empty(charge: float, loss: float, use: float) -> float:
    """Days until a charge is gone that is lost and used at once: ln(1 + k Q / u) / k.

    Parameters
    ----------
    charge : float
        Usable charge at the beginning, in mAh.
    loss : float
        Share lost by itself, a day.
    use : float
        Charge drained, in mAh a day.
    """
    if not use:
        return inf
    return log(1 + loss * charge / use) / loss if loss else charge / use
