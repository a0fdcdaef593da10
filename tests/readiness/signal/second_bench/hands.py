"""When the hands do what: which contact is open when, how far each cable is bent, what touches."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from .ailments import LEADS, Ailment
from .drawing import BenchRoom

WINDOWS_S = {"A": 2.5, "B": 5.0, "ground": 7.5}
WINDOW_S = 2.5
SLACK_S = 0.5
PRELUDE_S = 3.0
"""The amplifier runs this long before the capture begins, so that filters have settled."""

Span = tuple[float, float]


@dataclass
class Handling:
    """One capture's hands. Spans are in seconds of the capture; ``bend`` holds, for each lead, the
    strokes as (middle, half-length, height).
    """

    test: str
    held: bool
    opens: dict[str, list[Span]] = field(default_factory=lambda: {lead: [] for lead in LEADS})
    thins: dict[str, list[Span]] = field(default_factory=lambda: {lead: [] for lead in LEADS})
    fingers: dict[str, list[Span]] = field(default_factory=lambda: {lead: [] for lead in LEADS})
    bend: dict[str, list[tuple[float, float, float]]] = field(
        default_factory=lambda: {lead: [] for lead in LEADS}
    )


def handle(
    test: str, room: BenchRoom, ailment: Ailment | None, rng: np.random.Generator
) -> Handling:
    """The hands of one capture of a kit with (or without) an ailment."""
    hands = Handling(test, held=test != "still")
    if test in ("flex", "ground"):
        for lead in LEADS:
            _flex(hands, lead, rng)
    if test == "lift":
        for lead in LEADS:
            _lift(hands, lead, room, rng)
    if ailment and ailment.kind == "open":
        hands.opens[ailment.lead] = [(-PRELUDE_S, 99.0)]
    if ailment and ailment.kind in ("intermittent", "resistive"):
        _break(hands, ailment, rng)
    return hands


def _flex(hands: Handling, lead: str, rng: np.random.Generator) -> None:
    start = WINDOWS_S[lead] + rng.uniform(-SLACK_S, SLACK_S) * 0.9
    end = WINDOWS_S[lead] + WINDOW_S + rng.uniform(-SLACK_S, SLACK_S)
    at = start
    pace = rng.uniform(0.3, 1.0)
    while at < end:
        length = pace * rng.uniform(0.7, 1.4)
        hands.bend[lead].append((at + length / 2, length / 2, rng.uniform(0.4, 1.0)))
        at += length * rng.uniform(0.8, 1.3)


def _lift(hands: Handling, lead: str, room: BenchRoom, rng: np.random.Generator) -> None:
    """Take its snap off, count one, put it back: the snap scratches along the stud both times."""
    off = WINDOWS_S[lead] + rng.uniform(0.1, 0.8) + rng.uniform(-SLACK_S, SLACK_S) * 0.6
    on = off + rng.uniform(0.6, 1.6)
    hands.opens[lead] += [*bounce(off, rng), (off, on), *bounce(on, rng, after=True)]
    hands.bend[lead].append(((off + on) / 2, (on - off) / 2 + 0.3, rng.uniform(0.2, 0.8)))
    if rng.random() < room.finger_share:
        first = off + rng.uniform(0, 0.5) * (on - off)
        last = on if rng.random() < 0.5 else rng.uniform(first, on)
        hands.fingers[lead].append((first, last))


def bounce(at: float, rng: np.random.Generator, after: bool = False) -> list[Span]:
    """Short opens just before (or after) a contact opens (or closes): fewer and shorter away from
    it.
    """
    spans = []
    gap = rng.exponential(0.0015)
    for _ in range(int(rng.integers(0, 7))):
        length = rng.exponential(0.0012)
        start = at + gap if after else at - gap - length
        spans.append((start, start + length))
        gap += length + rng.exponential(0.002)
    return spans


def _break(hands: Handling, ailment: Ailment, rng: np.random.Generator) -> None:
    """A broken strand parts near the top of a stroke: at most strokes, for 2 to 300 ms."""
    spans = hands.opens if ailment.kind == "intermittent" else hands.thins
    strokes = hands.bend[ailment.lead]
    parts = [stroke for stroke in strokes if rng.random() < 0.6]
    if hands.test in ("flex", "ground") and not parts:
        parts = [strokes[int(rng.integers(len(strokes)))]]
    if hands.test == "lift":
        parts = [stroke for stroke in parts if rng.random() < 0.4]
    for middle, half, _ in parts:
        length = float(np.exp(rng.uniform(np.log(0.002), np.log(0.3))))
        if ailment.kind == "resistive":
            length = rng.uniform(0.05, 1.6) * half
        start = middle + rng.uniform(-0.4, 0.4) * half - length / 2
        end = start + length
        spans[ailment.lead] += bounce(start, rng)
        spans[ailment.lead].append((start, end))
        spans[ailment.lead] += bounce(end, rng, after=True)


def mask(spans: list[Span], times_s: np.ndarray) -> np.ndarray:
    """True where one of the spans covers the time; a span shorter than the grid covers none."""
    covered = np.zeros(len(times_s), dtype=bool)
    first, last = np.searchsorted(times_s, np.array(spans).reshape(-1, 2)).T
    for start, end in zip(first, last, strict=True):
        covered[start:end] = True
    return covered


def stroke_shape(strokes: list[tuple[float, float, float]], times_s: np.ndarray) -> np.ndarray:
    """How far a cable is bent, 0 to 1: raised cosines."""
    bent = np.zeros(len(times_s))
    for middle, half, height in strokes:
        first, last = np.searchsorted(times_s, (middle - half, middle + half))
        phase = (times_s[first:last] - middle) / half
        bent[first:last] += height * 0.5 * (1 + np.cos(np.pi * phase))
    return bent
