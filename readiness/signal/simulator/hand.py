"""What a hand brings in: mains and static charge of the body, through the bar it holds and through
the lead it works on, and a finger on a lifted snap.

A body that stands insulated carries some tenths of a volt to some volts of mains, which a few to
some hundred picofarad let into what is near; feet and clothes charge it by volts within a second
(both common practice).
"""

from __future__ import annotations

from dataclasses import dataclass

Span = tuple[float, float]


@dataclass(frozen=True)
class Hand:
    """One pair of hands. Units stand in the names; as it stands a calm one, which brings in nothing
    but the current of its body.

    ``mains_v`` and ``static_v``: peak of the body's mains and RMS of its slow swings, against the
    amplifier; ``bar_pf`` lets them into the bar that is held, ``lead_pf`` into a lead in the hand,
    and ``near`` of that into a lead that only hangs there. ``finger``: how often a finger lies on a
    lifted snap, which it joins to the bar through ``finger_kohm``. A lead is lifted within
    ``up_s`` of its call and put back ``down_s`` before the next one.
    """

    mains_v: float = 0.0
    bar_pf: float = 50.0
    lead_pf: float = 10.0
    near: float = 0.1
    static_v: float = 0.0
    static_hz: float = 0.5
    finger: float = 0.0
    finger_kohm: float = 200.0
    up_s: Span = (0.1, 0.5)
    down_s: Span = (0.2, 0.6)

    @property
    def is_calm(self) -> bool:
        """Whether it brings in no voltage of its own."""
        return not (self.mains_v or self.static_v)
