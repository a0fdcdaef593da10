"""What the operator does in the ten seconds of each test, window by window: for the guided timer
and the print.
"""

from __future__ import annotations

from dataclasses import dataclass

DURATION_S = 10.0


@dataclass(frozen=True)
class Window:
    """One stretch of a test: ``start_s`` to ``end_s`` seconds, what to do in few words, and how."""

    start_s: float
    end_s: float
    words: str
    how: str

    @property
    def start_ms(self) -> int:
        """Start in milliseconds, for the script of the timer."""
        return round(self.start_s * 1000)

    @property
    def end_ms(self) -> int:
        """End in milliseconds."""
        return round(self.end_s * 1000)


@dataclass(frozen=True)
class Instruction:
    """A test as its operator meets it: what is made ready, then the windows, and what it shows."""

    test: str
    title: str
    ready: tuple[str, ...]
    windows: tuple[Window, ...]
    shows: str


_LAPTOP = "Run the laptop on its battery."
_BAR = "Put the three snap ends on the shorting bar."
_HELD = "Hold the bar in your bare hand, and keep holding it."


def _turns(act: str, how: str) -> tuple[Window, ...]:
    leads = (("lead A", 2.5), ("lead B", 5.0), ("the ground lead", 7.5))
    still = Window(0.0, 2.5, "Hold still", "Hand on the bar, nothing moves.")
    return (still, *(Window(start, start + 2.5, f"{act} {lead}", how) for lead, start in leads))


_FLEX = _turns(
    "Flex", "Bend it near the plug, along its length, near the snap. Never pull the wire."
)

INSTRUCTIONS: dict[str, Instruction] = {
    "still": Instruction(
        "still",
        "Still: nothing is touched",
        (_LAPTOP, _BAR, "Take your hands away from kit and table."),
        (Window(0.0, DURATION_S, "Hands off", "Nothing is touched for ten seconds."),),
        "Noise floor, mains hum, and a dead, saturated or stuck channel.",
    ),
    "flex": Instruction(
        "flex",
        "Flex: one lead after the other",
        (_LAPTOP, _BAR, _HELD),
        _FLEX,
        "Broken strands that open when the lead is bent, and in which lead.",
    ),
    "lift": Instruction(
        "lift",
        "Lift: one snap after the other",
        (_LAPTOP, _BAR, _HELD),
        _turns("Lift", "Take its snap off the bar, count one, put it back."),
        "Proof that each lead is connected: a sound lead reacts when it is lifted.",
    ),
    "ground": Instruction(
        "ground",
        "Ground: flex on the second post",
        (
            _LAPTOP,
            "Put snap A on the post with the 100 kilohm resistor, B and ground on the bar.",
            _HELD,
        ),
        _FLEX,
        "A ground lead that opens when it is bent; the other two are judged in flex.",
    ),
    "worn": Instruction(
        "worn",
        "Worn: rest, then clench",
        (
            _LAPTOP,
            "Put the electrodes on both wrists and the ground on one elbow.",
            "Sit, forearms on the table.",
        ),
        (
            Window(0.0, 5.0, "Relax", "Hands lie loose."),
            Window(5.0, DURATION_S, "Clench both fists", "Firm and steady, until the end."),
        ),
        "That muscle and rest differ. A weaker test than the bar: use it only where there is none.",
    ),
}
