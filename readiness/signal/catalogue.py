"""The bench tests, in bench order: one definition each, asked by everything that speaks of a test.

The timer and its print take the instructions from here, the plan form its boxes, the simulator the
windows and what the hands do in them, the readers and ``--test`` the names, scoring the judge. The
catalogue imports nothing, so that the simulator learns no threshold and a reader no rule from it;
a judge is therefore named by its place and loaded where it is needed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pkgutil import resolve_name
from typing import Any, Literal

DURATION_S = 10.0
LEADS = ("A", "B", "ground")

Act = Literal["rest", "flex", "lift", "clench"]
Span = tuple[str, float, float]


@dataclass(frozen=True)
class TestWindow:
    """One stretch of a test, ``start_s`` to ``end_s`` seconds.

    ``name`` is the lead that is worked on, or what else happens; ``words`` tells the operator what
    to do, ``how`` how.
    """

    __test__ = False  # no test of pytest's, in spite of its name

    name: str
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
class TestKind:
    """A bench test, whole: what the operator does, what it shows, and who judges it.

    Attributes
    ----------
    name : str
        As it stands in a file's header, in ``--test`` and in a plan.
    title, ready, shows : str, tuple of str, str
        For the operator: the heading, what is made ready before, what the ten seconds show.
    windows : tuple of TestWindow
        Without gap from 0 to ``DURATION_S``.
    asks : str
        Help beside its box in a plan.
    in_usual_plan : bool
        Whether a new plan asks for it.
    act : str
        What the hands do in the windows of the leads: ``rest``, ``flex``, ``lift``; or ``clench``.
    held, worn, second_post : bool
        The bar is held in the bare hand; electrodes are worn and no bar is there; snap A is on the
        post with the resistor.
    proves : tuple of str
        Leads that a sound kit's capture proves to be connected.
    blind_to : frozenset of str
        Faults ("kind" or "kind lead", as the simulator names them) that these ten seconds cannot
        show, whatever the method: nothing of them reaches the two inputs, or no more than what a
        sound kit shows there.
    judge_at : str
        Place of the judge, ``module:function``: a view of a capture in, a ``Judgement`` out.
    """

    __test__ = False

    name: str
    title: str
    ready: tuple[str, ...]
    windows: tuple[TestWindow, ...]
    shows: str
    asks: str
    act: Act
    judge_at: str
    in_usual_plan: bool = False
    held: bool = False
    worn: bool = False
    second_post: bool = False
    proves: tuple[str, ...] = ()
    blind_to: frozenset[str] = frozenset()

    @property
    def spans(self) -> tuple[Span, ...]:
        """Its windows as (name, start, end), in seconds."""
        return tuple((window.name, window.start_s, window.end_s) for window in self.windows)

    @property
    def judge(self) -> Callable[[Any], Any]:
        """The function that judges a view of such a capture."""
        judge: Callable[[Any], Any] = resolve_name(self.judge_at)
        return judge


_JUDGES = "readiness.signal.bench_tests"
_LAPTOP = "Run the laptop on its battery."
_BAR = "Put the three snap ends on the shorting bar."
_HELD = "Hold the bar in your bare hand, and keep holding it."
_BENDING = "Bend it near the plug, along its length, near the snap. Never pull the wire."
_LIFTING = "Take its snap off the bar, count one, put it back."
_INTERMITTENT_ACTIVE = frozenset({"intermittent_lead A", "intermittent_lead B"})
_BENT = frozenset(
    f"{kind} {lead}" for kind in ("intermittent_lead", "resistive_lead") for lead in LEADS
)
_BETWEEN = frozenset({"leads_shorted", "leaking_leads", "swapped_sockets"})


def _lead_by_lead(act: str, how: str) -> tuple[TestWindow, ...]:
    """A still quarter, then each lead in turn."""
    return (
        TestWindow("still", 0.0, 2.5, "Hold still", "Hand on the bar, nothing moves."),
        TestWindow("A", 2.5, 5.0, f"{act} lead A", how),
        TestWindow("B", 5.0, 7.5, f"{act} lead B", how),
        TestWindow("ground", 7.5, DURATION_S, f"{act} the ground lead", how),
    )


STILL = TestKind(
    name="still",
    title="Still: nothing is touched",
    ready=(_LAPTOP, _BAR, "Take your hands away from kit and table."),
    windows=(
        TestWindow("still", 0.0, DURATION_S, "Hands off", "Nothing is touched for ten seconds."),
    ),
    shows="Noise floor, mains hum, and a dead, saturated or stuck channel.",
    asks="Noise floor, mains, dead or stuck channel.",
    act="rest",
    judge_at=f"{_JUDGES}.still:judge",
    in_usual_plan=True,
    blind_to=_BENT | _BETWEEN | {"open_lead ground"},
)

FLEX = TestKind(
    name="flex",
    title="Flex: one lead after the other",
    ready=(_LAPTOP, _BAR, _HELD),
    windows=_lead_by_lead("Flex", _BENDING),
    shows="Broken strands that open when the lead is bent, and in which lead.",
    asks="Broken strands, lead by lead.",
    act="flex",
    judge_at=f"{_JUDGES}.flex:judge",
    in_usual_plan=True,
    held=True,
    blind_to=_BETWEEN | {"open_lead ground"},
)

LIFT = TestKind(
    name="lift",
    title="Lift: one snap after the other",
    ready=(_LAPTOP, _BAR, _HELD),
    windows=_lead_by_lead("Lift", _LIFTING),
    shows="Proof that each lead is connected: a sound lead reacts when it is lifted.",
    asks="Proof that each lead is connected.",
    act="lift",
    judge_at=f"{_JUDGES}.lift:judge",
    in_usual_plan=True,
    held=True,
    proves=LEADS,
    blind_to=_BENT,
)

GROUND = TestKind(
    name="ground",
    title="Ground: flex on the second post",
    ready=(
        _LAPTOP,
        "Put snap A on the post with the 100 kilohm resistor, B and ground on the bar.",
        _HELD,
    ),
    windows=_lead_by_lead("Flex", _BENDING),
    shows="A ground lead that opens when it is bent; the other two are judged in flex.",
    asks="Flex once more on the second post: the ground lead.",
    act="flex",
    judge_at=f"{_JUDGES}.ground:judge",
    # No act within the other three proves the ground of every sound kit (DEVELOPERS.md).
    in_usual_plan=True,
    held=True,
    second_post=True,
    proves=("ground",),
    # It is made to look at its last window alone.
    blind_to=_INTERMITTENT_ACTIVE
    | {"leads_shorted", "leaking_leads", "resistive_lead A", "resistive_lead B"}
    | {"open_lead A", "open_lead B", "excess_noise", "low_frequency_noise"},
)

WORN = TestKind(
    name="worn",
    title="Worn: rest, then clench",
    ready=(
        _LAPTOP,
        "Put the electrodes on both wrists and the ground on one elbow.",
        "Sit, forearms on the table.",
    ),
    windows=(
        TestWindow("rest", 0.0, 5.0, "Relax", "Hands lie loose."),
        TestWindow("work", 5.0, DURATION_S, "Clench both fists", "Firm and steady, until the end."),
    ),
    shows=(
        "That muscle and rest differ. A weaker test than the bar: use it only where there is none."
    ),
    asks="Worn on both wrists; a weaker test, for want of a bar.",
    act="clench",
    judge_at=f"{_JUDGES}.worn:judge",
    worn=True,
    proves=("A", "B"),
    blind_to=_BENT | {"swapped_sockets", "excess_noise", "low_frequency_noise", "burst_noise"},
)

CATALOGUE: dict[str, TestKind] = {kind.name: kind for kind in (STILL, FLEX, LIFT, GROUND, WORN)}
"""Every bench test by its name, in bench order."""
NOISE_TEST = STILL.name
"""The test that gives a kit's noise floor."""


def usual_plan() -> list[str]:
    """Names of the tests a new plan asks for, in bench order."""
    return [name for name, kind in CATALOGUE.items() if kind.in_usual_plan]


def in_bench_order(names: Iterable[str]) -> list[str]:
    """Those of ``names`` that are bench tests, each once, in bench order."""
    chosen = set(names)
    return [name for name in CATALOGUE if name in chosen]
