"""What a kit's own history could save: would a reaction too weak for proof, but as usual of this
kit, be proof enough?

Each kit has its earlier lifts, all sound, on one bench under ever new hands. Then it is lifted once
more: sound, and with each fault that ``lift`` is there to see. A lead that the scorer leaves
unproven counts under the rule where its reaction lies within those of at least ``EARLIER`` lifts
that proved it. The judgement of real kits has no such rule: these figures say why.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from readiness.signal.catalogue import LEADS, LIFT
from readiness.signal.limits import Limits
from readiness.signal.result import Result
from readiness.signal.score import score_capture
from readiness.signal.simulator.captures import Fault, Setup, draw_fault, draw_setup, simulate
from readiness.signal.statistics.decision import NOT_FIT
from readiness.signal.statistics.shares import Share, share
from readiness.signal.study.cohort import in_processes

EARLIER = 3
ROUNDS = 5
SEEN_SIGMA = 3.5
"""A ground's rise must stand this far out all the same: noise alone reached 3.3 in 13,500 lifts."""
TODAY = (
    ("open_lead", "A"),
    ("open_lead", "ground"),
    ("leads_shorted", "A+B"),
    ("leaking_leads", "A+B"),
)
"""The faults of today, each on every kit."""


@dataclass(frozen=True)
class Lifted:
    """One lift of today: what the kit suffers from, and the leads that were proven by the scorer
    alone and with its history.
    """

    case: str
    alone: frozenset[str]
    with_history: frozenset[str]
    refused: bool


def history_lines(kits: int, seed: int, workers: int) -> list[str]:
    """The figures as text: sound lifts that prove all leads, faults whose leads all seem proven."""
    looks = [
        lifted
        for of_kit in in_processes(partial(lift_again, seed=seed), range(kits), workers)
        for lifted in of_kit
    ]
    lines = [
        f"A kit's own history, {kits} kits of {ROUNDS} earlier lifts: all three leads proven",
        f"  {'today':<20} {'by today alone':<34} as usual of this kit",
    ]
    for case in dict.fromkeys(look.case for look in looks):
        own = [look for look in looks if look.case == case]
        alone = all_proven(own, lambda look: look.alone)
        helped = all_proven(own, lambda look: look.with_history)
        lines.append(f"  {case:<20} {alone!s:<34} {helped}")
    return lines


def all_proven(looks: Iterable[Lifted], proven: Callable[[Lifted], frozenset[str]]) -> Share:
    """How many of these lifts prove all leads and hold nothing against the kit."""
    return share([proven(look) == set(LEADS) and not look.refused for look in looks])


def lift_again(number: int, seed: int) -> list[Lifted]:
    """The lifts of today of kit ``number``: sound, and with each fault."""
    rng = np.random.default_rng((seed, 4, number))
    setup = draw_setup(rng)
    earlier = [_lift(setup, (), rng) for _ in range(ROUNDS)]
    looks = [_looked_at("sound", _lift(setup, (), rng), earlier)]
    for kind, lead in TODAY:
        result = _lift(setup, (draw_fault(kind, rng, lead),), rng)
        looks.append(_looked_at(f"{kind} {lead}", result, earlier))
    return looks


def _lift(setup: Setup, faults: tuple[Fault, ...], rng: np.random.Generator) -> Result:
    """A lift on the same bench, by another hand on another day."""
    other = replace(setup, hand=draw_setup(rng, room=setup.room).hand)
    return score_capture(simulate(LIFT.name, other, faults, rng).capture, Limits())


def _looked_at(case: str, result: Result, earlier: list[Result]) -> Lifted:
    alone = frozenset(result.proven)
    helped = alone | {lead for lead in LEADS if as_usual(lead, result, earlier)}
    return Lifted(case, alone, frozenset(helped), result.verdict == NOT_FIT)


def as_usual(lead: str, result: Result, earlier: list[Result]) -> bool:
    """Whether a lead reacted no less and no more than in the earlier lifts that proved it."""
    name = "ground_hum_ratio" if lead == "ground" else f"lift_ratio_{lead}"
    values = [lift.value_of(name) for lift in earlier if lead in lift.proven]
    known = [value for value in values if value is not None]
    today = result.value_of(name)
    if today is None or len(known) < EARLIER or not min(known) <= today <= max(known):
        return False
    return lead != "ground" or (result.value_of("ground_hum_change") or 0.0) >= SEEN_SIGMA
