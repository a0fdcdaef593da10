"""Words, tones and shapes of every state shown on a screen: plain data, so that a state looks the
same everywhere. The words are those of the states themselves.

A state is a word first, then a shape, then a tint. The shape is an SVG path in a 16 x 16 box, drawn
by ``templates/_parts/_state.html``; the tone names the stylesheet rule ``state-<tone>``.
"""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import TextChoices

from rentals.states import (
    ArrivalOutcome,
    CallState,
    ErrandState,
    FaultState,
    FoundState,
    GuideOutcome,
    KitState,
    LoanStage,
    MessageState,
    PartPlace,
    ReturnOutcome,
    ShortfallState,
)

_DISC = "M8 1.5A6.5 6.5 0 1 1 8 14.5A6.5 6.5 0 1 1 8 1.5Z"
_RING = _DISC + "M8 4A4 4 0 1 0 8 12A4 4 0 1 0 8 4Z"

SHAPES = {
    # All shapes are filled areas, wound so that an inner outline cuts a hole: they survive a black
    # and white print.
    "tick": "M1.5 8.5L3.5 6.5L6.5 9.5L12.5 3L14.5 5L6.5 13.5Z",
    "disc": _DISC,
    "ring": _RING,
    "half": _RING + "M8 4A4 4 0 0 1 8 12Z",
    "out": "M1.5 6H8V2L14.5 8L8 14V10H1.5Z",
    "in": "M14.5 6H8V2L1.5 8L8 14V10H14.5Z",
    "triangle": "M8 1.5L15 14.5H1ZM7 6V10H9V6ZM7 11.2V13H9V11.2Z",
    "cross": (
        "M3.6 1.5L8 5.9L12.4 1.5L14.5 3.6L10.1 8L14.5 12.4L12.4 14.5L8 10.1L3.6 14.5L1.5 12.4L5.9"
        " 8L1.5 3.6Z"
    ),
    "bars": "M2.5 2H6.5V14H2.5ZM9.5 2H13.5V14H9.5Z",
    "dash": "M2 6.5H14V9.5H2Z",
    "turn": "M8 1.5A6.5 6.5 0 0 1 14.5 8H12A4 4 0 1 0 8 12V9L13 13L8 16V14.5A6.5 6.5 0 1 1 8 1.5Z",
    "page": "M3 1.5H10L13.5 5V14.5H3ZM5 6.5V8H11V6.5ZM5 10V11.5H11V10Z",
    "clock": _RING + "M7.2 4.5H8.8V7.6L11 9.4L10 10.7L7.2 8.4Z",
}


@dataclass(frozen=True)
class Mark:
    """How one state is shown: ``word`` for eye and ear, ``tone`` for the tint, ``shape`` for black
    and white.
    """

    word: str
    tone: str
    shape: str

    @property
    def path(self) -> str:
        """SVG path data of the shape in a 16 x 16 box."""
        return SHAPES[self.shape]


class Sign(TextChoices):
    """What a screen says of a thing beyond its state on file."""

    # Of a kit and its clearance
    CLEARED = "cleared", "cleared"
    NOT_CLEARED = "not_cleared", "not cleared"
    OVERRIDDEN = "overridden", "issued with an override"
    UNASSIGNED = "unassigned", "not assigned"
    # Of days, runs and progress
    PLANNED = "planned", "planned"
    DUE_SOON = "due_soon", "due soon"
    DUE_TODAY = "due_today", "due today"
    OVERDUE = "overdue", "overdue"
    LATE = "late", "late"
    RUNNING = "running", "running"
    OVER = "over", "over"
    ENDED = "ended", "ended"
    WORKING = "working", "at work"
    DONE = "done", "done"
    NOT_SAVED = "not_saved", "not saved yet"
    # Of a part and of stock
    MISSING = "missing", "missing"
    DAMAGED = "damaged", "damaged"
    NOT_IN_USE = "not_in_use", "not in use"
    IN_STOCK = "in_stock", "in stock"
    REORDER = "reorder", "reorder"
    EXPIRED = "expired", "expired"
    USED_UP = "used_up", "used up"
    OUT_OF_STOCK = "out_of_stock", "none left"
    # Of a score and a finding
    PASSES = "passes", "passes"
    RETEST = "retest", "retest"
    FAILS = "fails", "fails"
    NOT_JUDGED = "not_judged", "not judged"
    NOTE = "note", "note"
    # What the desk says back (message levels of Django), and cautions
    SUCCESS = "success", "Done"
    INFO = "info", "Note"
    DEBUG = "debug", "Note"
    WARNING = "warning", "Attention"
    ERROR = "error", "Not done"
    CAUTION = "caution", "Caution"


Looks = dict[TextChoices, tuple[str, str]]

# Tone and shape of every state, one family a class. Tones: ready (nothing stands in the way), due
# (someone at the desk must act), away (out of the house), warn (look closer, or late), wrong
# (faulty or failed), quiet (at rest, over, or not yet begun).
_SIGNS: Looks = {
    Sign.CLEARED: ("ready", "tick"),
    Sign.NOT_CLEARED: ("quiet", "ring"),
    Sign.OVERRIDDEN: ("warn", "triangle"),
    Sign.UNASSIGNED: ("quiet", "dash"),
    Sign.PLANNED: ("quiet", "ring"),
    Sign.DUE_SOON: ("due", "clock"),
    Sign.DUE_TODAY: ("due", "clock"),
    Sign.OVERDUE: ("warn", "clock"),
    Sign.LATE: ("warn", "clock"),
    Sign.RUNNING: ("away", "half"),
    Sign.OVER: ("quiet", "tick"),
    Sign.ENDED: ("quiet", "dash"),
    Sign.WORKING: ("away", "half"),
    Sign.DONE: ("quiet", "tick"),
    Sign.NOT_SAVED: ("due", "page"),
    Sign.MISSING: ("wrong", "cross"),
    Sign.DAMAGED: ("wrong", "triangle"),
    Sign.NOT_IN_USE: ("quiet", "dash"),
    Sign.IN_STOCK: ("ready", "tick"),
    Sign.REORDER: ("warn", "triangle"),
    Sign.EXPIRED: ("wrong", "cross"),
    Sign.USED_UP: ("quiet", "dash"),
    Sign.OUT_OF_STOCK: ("wrong", "cross"),
    Sign.PASSES: ("ready", "tick"),
    Sign.RETEST: ("warn", "turn"),
    Sign.FAILS: ("wrong", "cross"),
    Sign.NOT_JUDGED: ("quiet", "dash"),
    Sign.NOTE: ("quiet", "page"),
    Sign.SUCCESS: ("ready", "tick"),
    Sign.INFO: ("due", "page"),
    Sign.DEBUG: ("due", "page"),
    Sign.WARNING: ("warn", "triangle"),
    Sign.ERROR: ("wrong", "cross"),
    Sign.CAUTION: ("warn", "triangle"),
}
_KITS: Looks = {
    KitState.SHELF: ("quiet", "ring"),
    KitState.ASSIGNED: ("due", "half"),
    KitState.PACKED: ("due", "disc"),
    KitState.AWAY: ("away", "out"),
    KitState.CHECK: ("due", "in"),
    KitState.BENCH: ("due", "turn"),
    KitState.HELD: ("warn", "bars"),
    KitState.RETIRED: ("quiet", "dash"),
}
_LOANS: Looks = {
    LoanStage.ASSIGNED: ("due", "half"),
    LoanStage.PACKED: ("due", "disc"),
    LoanStage.AWAY: ("away", "out"),
    LoanStage.CHECK: ("due", "in"),
    LoanStage.RETURNED: ("due", "in"),
    LoanStage.SETTLED: ("quiet", "tick"),
    LoanStage.LOST: ("wrong", "cross"),
    LoanStage.CANCELLED: ("quiet", "dash"),
}
_PARTS: Looks = {
    PartPlace.FITTED: ("ready", "tick"),
    PartPlace.SPARE: ("quiet", "ring"),
    PartPlace.SENT: ("away", "out"),
    PartPlace.MISSING: ("wrong", "cross"),
    PartPlace.REPAIR: ("warn", "turn"),
    PartPlace.LOST: ("wrong", "cross"),
    PartPlace.RETIRED: ("quiet", "dash"),
}
_OUTCOMES: Looks = {
    ReturnOutcome.OPEN: ("quiet", "ring"),
    ReturnOutcome.BACK: ("ready", "tick"),
    ReturnOutcome.MISSING: ("wrong", "cross"),
    ReturnOutcome.DAMAGED: ("wrong", "triangle"),
    ReturnOutcome.USED_UP: ("quiet", "dash"),
}
_ARRIVALS: Looks = {
    ArrivalOutcome.HERE: ("ready", "tick"),
    ArrivalOutcome.MISSING: ("wrong", "cross"),
    ArrivalOutcome.DAMAGED: ("wrong", "triangle"),
}
_SHORTFALLS: Looks = {
    ShortfallState.OPEN: ("warn", "triangle"),
    ShortfallState.CHASED: ("due", "out"),
    ShortfallState.RECOVERED: ("ready", "tick"),
    ShortfallState.CHARGED: ("quiet", "tick"),
    ShortfallState.WAIVED: ("quiet", "dash"),
}
_FINDS: Looks = {
    FoundState.OPEN: ("due", "in"),
    FoundState.WAITING: ("away", "clock"),
    FoundState.MOVED: ("ready", "tick"),
    FoundState.ASIDE: ("quiet", "dash"),
}
_FAULTS: Looks = {
    FaultState.OPEN: ("warn", "triangle"),
    FaultState.ANSWERED: ("away", "out"),
    FaultState.CLOSED: ("quiet", "tick"),
}
_GUIDE: Looks = {
    GuideOutcome.OPEN: ("away", "half"),
    GuideOutcome.SOLVED: ("ready", "tick"),
    GuideOutcome.REPORTED: ("warn", "triangle"),
}
_MESSAGES: Looks = {
    MessageState.DRAFT: ("due", "page"),
    MessageState.APPROVED: ("due", "half"),
    MessageState.QUEUED: ("away", "clock"),
    MessageState.SENDING: ("away", "clock"),
    MessageState.SENT: ("ready", "tick"),
    MessageState.FAILED: ("wrong", "cross"),
    MessageState.UNCERTAIN: ("warn", "triangle"),
    MessageState.DISCARDED: ("quiet", "dash"),
}
_CALLS: Looks = {
    CallState.WAITING: ("away", "clock"),
    CallState.SENDING: ("away", "clock"),
    CallState.TAKEN: ("ready", "tick"),
    CallState.GIVEN_UP: ("wrong", "cross"),
}
_ERRANDS: Looks = {
    ErrandState.WAITING: ("away", "clock"),
    ErrandState.WORKING: ("away", "half"),
    ErrandState.DONE: ("ready", "tick"),
    ErrandState.FAULTS: ("warn", "triangle"),
    ErrandState.FAILED: ("wrong", "cross"),
    ErrandState.CANCELLED: ("quiet", "dash"),
}
FAMILIES: dict[type[TextChoices], Looks] = {
    Sign: _SIGNS,
    KitState: _KITS,
    LoanStage: _LOANS,
    PartPlace: _PARTS,
    ReturnOutcome: _OUTCOMES,
    ArrivalOutcome: _ARRIVALS,
    ShortfallState: _SHORTFALLS,
    FoundState: _FINDS,
    FaultState: _FAULTS,
    GuideOutcome: _GUIDE,
    MessageState: _MESSAGES,
    CallState: _CALLS,
    ErrandState: _ERRANDS,
}


def mark_in(looks: Looks, state: TextChoices, label: str = "") -> Mark:
    """The mark of a member whose family has these looks; `label` replaces its word. Raises KeyError
    for a member without a look.
    """
    tone, shape = looks[state]
    return Mark(label or str(state.label), tone, shape)


def mark_of(state: TextChoices | str, label: str = "") -> Mark:
    """The mark of a state: a member of one of the families, or the value of a `Sign`.

    Raises
    ------
    ValueError, KeyError
        If nothing is known by that name, so that a renamed state cannot lose its mark unnoticed.
    """
    member = state if isinstance(state, TextChoices) else Sign(state)
    return mark_in(FAMILIES[type(member)], member, label)


@dataclass(frozen=True)
class ScoreMark:
    """A score as shown: ``band`` (passes, retest, fails, not_judged), its word, the number as text,
    the bar's width.
    """

    band: str
    word: str
    number: str
    width: str


PASSES_FROM = 95.0
FAILS_TO = 5.0


def score_band(score: float | None) -> str:
    """``passes`` from 95, ``fails`` to 5, ``retest`` between, ``not_judged`` for None
    (measurement's own limits).
    """
    if score is None:
        return "not_judged"
    if score >= PASSES_FROM:
        return "passes"
    return "fails" if score <= FAILS_TO else "retest"


def score_mark(score: float | None) -> ScoreMark:
    """How a score from 0 to 100 is shown.

    The number is rounded to a whole one, or to as few decimals as keep it on its own side of the
    limits and short of certainty: 94.7 is shown as 94.7 and never as a 95 that would contradict the
    word "retest", 99.6 never as 100; beyond 99.9 it is ">99.9", below 0.1 "<0.1". Raises ValueError
    outside 0 to 100.
    """
    band = score_band(score)
    if score is None:
        return ScoreMark(band, Sign(band).label, "", "0")
    if not 0 <= score <= 100:
        raise ValueError(f"a score must be from 0 to 100, not {score!r}")
    return ScoreMark(band, Sign(band).label, _score_number(score), f"{score:.2f}")


def _score_number(score: float) -> str:
    if 99.9 < score < 100:
        return ">99.9"
    if 0 < score < 0.1:
        return "<0.1"
    for decimals in range(8):
        number = f"{score:.{decimals}f}"
        certain = float(number) in (0, 100) and float(number) != score
        if score_band(float(number)) == score_band(score) and not certain:
            return number
    return f"{score}"
