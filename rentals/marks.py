"""Words, tones and shapes of every state shown on a screen: plain data, so that a state looks the
same everywhere.

A state is a word first, then a shape, then a tint. The shape is an SVG path in a 16 x 16 box, drawn
by ``templates/_parts/_state.html``; the tone names the stylesheet rule ``state-<tone>``.
"""

from __future__ import annotations

from dataclasses import dataclass

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


def _marks(tone: str, shape: str, **words: str) -> dict[str, Mark]:
    return {key: Mark(word, tone, shape) for key, word in words.items()}


# Tones: ready (nothing stands in the way), due (someone at the desk must act), away (out of the
# house), warn (look closer, or late), wrong (faulty or failed), quiet (at rest, over, or not yet
# begun).
MARKS: dict[str, Mark] = {
    # A kit
    **_marks("ready", "tick", cleared="cleared"),
    **_marks("quiet", "ring", shelf="on the shelf", not_cleared="not cleared"),
    **_marks("due", "half", assigned="assigned"),
    **_marks("due", "disc", packed="packed"),
    **_marks("away", "out", away="away"),
    **_marks("due", "in", check="back, to check"),
    **_marks("due", "turn", bench="to bench"),
    **_marks("warn", "bars", held="held"),
    **_marks("quiet", "dash", retired="retired", unassigned="not assigned"),
    **_marks("warn", "triangle", overridden="issued with an override"),
    # A loan, a parcel, a run
    **_marks("quiet", "ring", planned="planned", not_looked_at="not looked at"),
    **_marks("warn", "clock", overdue="overdue", late="late"),
    **_marks("due", "clock", due_soon="due soon", due_today="due today"),
    **_marks("away", "in", on_way_back="on its way back"),
    **_marks("due", "in", returned="returned"),
    **_marks("quiet", "tick", settled="settled", done="done", over="over"),
    **_marks("away", "half", running="running", working="at work"),
    **_marks("quiet", "dash", cancelled="cancelled", ended="ended"),
    # A part, a line of a list, stock
    **_marks("ready", "tick", back="back", fitted="in a kit", matched="matched"),
    **_marks("quiet", "ring", spare="spare"),
    **_marks("warn", "turn", repair="in repair"),
    **_marks("wrong", "cross", missing="missing", lost="lost"),
    **_marks("wrong", "triangle", damaged="damaged"),
    **_marks("quiet", "dash", used_up="used up", waived="waived", discarded="discarded"),
    **_marks("ready", "tick", in_stock="in stock"),
    **_marks("warn", "triangle", reorder="reorder", expires_soon="expires soon"),
    **_marks("wrong", "cross", expired="expired", out_of_stock="none left"),
    # A shortfall
    **_marks("warn", "triangle", open="open"),
    **_marks("due", "out", chased="chased"),
    **_marks("ready", "tick", recovered="recovered"),
    **_marks("quiet", "tick", charged="charged"),
    # A verdict, a score, a finding
    **_marks("ready", "tick", fit="fit", passes="passes"),
    **_marks("warn", "turn", retest="retest"),
    **_marks("wrong", "cross", not_fit="not fit", fails="fails", unreadable="not readable"),
    **_marks("quiet", "dash", not_judged="not judged"),
    **_marks("quiet", "page", note="note"),
    # A message
    **_marks("due", "page", draft="draft"),
    **_marks("due", "half", approved="approved"),
    **_marks("away", "clock", queued="queued", sending="being sent"),
    **_marks("ready", "tick", sent="sent"),
    **_marks("wrong", "cross", failed="failed"),
    **_marks("warn", "triangle", uncertain="may have been sent"),
    # A background task
    **_marks("quiet", "clock", waiting="waiting"),
    # What the desk says back (message levels of Django) and cautions
    **_marks("ready", "tick", success="Done"),
    **_marks("due", "page", info="Note", debug="Note"),
    **_marks("warn", "triangle", warning="Attention", caution="Caution"),
    **_marks("wrong", "cross", error="Not done"),
    # The same words with another meaning elsewhere
    "return.open": Mark("not looked at", "quiet", "ring"),
    "loan.open": Mark("open", "away", "half"),
    "loan.lost": Mark("lost", "wrong", "cross"),
    "kit.lost": Mark("lost", "wrong", "cross"),
}


def mark_of(state: str, label: str = "") -> Mark:
    """The mark of a state key, ``"away"`` or with its family ``"return.open"``; ``label`` replaces
    the word.

    Case, spaces and hyphens do not matter ("not fit" is ``not_fit``). An unknown key keeps its word
    and gets the quiet ring, so that a new state is readable before it has a mark of its own.
    """
    key = str(state).strip().lower().replace(" ", "_").replace("-", "_")
    mark = MARKS.get(key) or MARKS.get(key.rpartition(".")[2])
    if mark is None:
        mark = Mark(key.rpartition(".")[2].replace("_", " "), "quiet", "ring")
    return Mark(label, mark.tone, mark.shape) if label else mark


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
        return ScoreMark(band, MARKS[band].word, "", "0")
    if not 0 <= score <= 100:
        raise ValueError(f"a score must be from 0 to 100, not {score!r}")
    return ScoreMark(band, MARKS[band].word, _score_number(score), f"{score:.2f}")


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
