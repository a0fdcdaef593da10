"""What the packing bench says of a kit that is not there: why, and where it goes on."""

from __future__ import annotations

from dataclasses import dataclass

from rentals.lifecycle import Verb, may
from rentals.models import CourseRun, Kit, Loan
from rentals.next_acts import ASSIGN, ASSIGN_KITS, not_to_pack, way_elsewhere
from rentals.selectors.kits import refusal_of
from rentals.selectors.next_steps import Button, button, kit_situation
from rentals.selectors.packing import runs_wanting
from rentals.states import KitState


@dataclass(frozen=True)
class KitElsewhere:
    """One sentence on a kit, its next step, and what stands against it.

    `waits`: it may be assigned, and `runs` of its type want kits, each with its button. `held_for`
    is the loan of a kit that is held.
    """

    sentence: str
    next: Button | None
    waits: bool
    runs: list[tuple[CourseRun, Button]]
    refusal: str
    held_for: Loan | None


def kit_elsewhere(kit: Kit, loan: Loan | None) -> KitElsewhere:
    """All of that for a kit with its open loan."""
    situation = kit_situation(kit, loan)
    waits = loan is None and may(Verb.ASSIGNED, situation.state)
    runs = runs_wanting(kit.kit_type) if waits else []
    way = way_elsewhere(situation)
    return KitElsewhere(
        sentence=not_to_pack(situation),
        next=button(way, kit=kit) if way else _to_most_pressing(runs),
        waits=waits,
        runs=[(run, button(ASSIGN, run=run)) for run in runs],
        refusal=refusal_of(kit),
        held_for=loan if situation.state is KitState.HELD else None,
    )


def _to_most_pressing(runs: list[CourseRun]) -> Button | None:
    return button(ASSIGN_KITS, run=runs[0]) if runs else None
