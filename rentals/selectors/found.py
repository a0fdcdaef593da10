"""Things found in parcels that were not on their lists: which are still to be put away, where each
belongs, what is next with it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet

from rentals.codes import grouped
from rentals.lifecycle import Verb
from rentals.marks import Mark
from rentals.models import Event, FoundPart, Kit, Part, Shortfall
from rentals.next_acts import KEEP_ASIDE, MOVE_TO_KIT, FoundSituation, found_act, found_sentence
from rentals.quiet_changes import chain_ends
from rentals.selectors.contents import has_room_for
from rentals.selectors.next_steps import Button, button
from rentals.selectors.search import together
from rentals.states import UNENDED_FINDS, FoundState, KitState


@dataclass(frozen=True)
class FoundRow:
    """One found thing as lists show it. `next` is its act, `aside` the way to keep it aside where
    that is another one; None where there is nothing to do. `there` leads there from other pages.
    """

    what: str
    why: str
    mark: Mark
    found_in: Kit
    next: Button | None
    aside: Button | None
    there: Button

    @property
    def steps(self) -> list[Button]:
        """What can be done with it now, the next act first."""
        return [step for step in (self.next, self.aside) if step is not None]


def finds() -> QuerySet[FoundPart]:
    """All found things with what their rows show, the oldest first."""
    related = ("part__kit", "check_of__loan__kit", "check_of__loan__enrolment__student")
    return FoundPart.objects.select_related(*related).order_by("at", "pk")


def finds_to_put_away() -> QuerySet[FoundPart]:
    """Those that can be put away now: what waits for a kit that is away is left out."""
    away = Q(state=FoundState.WAITING, part__kit__state=KitState.AWAY)
    things = finds().defer(*chain_ends("part__kit", "check_of__loan__kit"))
    return things.filter(state__in=UNENDED_FINDS).exclude(away)


def finds_of_kit(kit: Kit) -> list[FoundRow]:
    """Those still to be put away that were found in a kit's parcel or belong to it."""
    numbers = list(finds_about(kit.pk).values_list("pk", flat=True))
    things = list(finds().filter(pk__in=numbers)) if numbers else []
    homes = homes_of(things)
    return [
        _row(thing, homes.get(thing.part_id))
        for thing in things
        if kit in (thing.check_of.loan.kit, homes.get(thing.part_id))
    ]


def finds_about(kit: int) -> QuerySet[FoundPart]:
    """What waits and was found in a kit's parcels, is in it, or was in it and is in no kit now. Led
    to by the kit's own rows, however many finds wait at the desk.
    """
    every = FoundPart.objects.all()
    moved = Event.objects.filter(kit=kit, part__isnull=False).order_by().values("part")
    was_in_it = Part.objects.filter(kit__isnull=True, pk__in=moved).order_by()
    of_kit = together(
        every.filter(check_of__loan__kit=kit),
        every.filter(part__kit=kit),
        every.filter(part__in=was_in_it),
    )
    return every.filter(pk__in=of_kit, state__in=UNENDED_FINDS).order_by()


def aside_in(kit: Kit) -> list[FoundRow]:
    """Parts of a kit that came in parcels of others and are not put away."""
    return [row for row in finds_of_kit(kit) if row.found_in != kit]


def found_rows(things: Iterable[FoundPart]) -> list[FoundRow]:
    """The rows of found things; one query more where parts among them are in no kit."""
    things = list(things)
    homes = homes_of(things)
    return [_row(thing, homes.get(thing.part_id)) for thing in things]


def home_of(part: Part | None) -> Kit | None:
    """The kit that a part belongs to: the one it is in, else the last one it was in; None for what
    is no part.
    """
    if part is None:
        return None
    return part.kit or _last_kits([part.pk]).get(part.pk)


def homes_of(things: Iterable[FoundPart]) -> dict[int | None, Kit]:
    """The kit that each found part belongs to, by the number of the part."""
    parts = [thing.part for thing in things if thing.part is not None]
    homes: dict[int | None, Kit] = {part.pk: part.kit for part in parts if part.kit}
    loose = [part.pk for part in parts if not part.kit]
    return homes | _last_kits(loose) if loose else homes


def _last_kits(parts: list[int]) -> dict[int | None, Kit]:
    moves = Event.objects.filter(
        part__in=parts, kit__isnull=False, verb__in=(Verb.FITTED, Verb.REMOVED)
    )
    # In the order of writing, so that the last one stays.
    return {
        move.part_id: move.kit for move in moves.select_related("kit").order_by("pk") if move.kit
    }


def situation_of(thing: FoundPart, home: Kit | None) -> FoundSituation:
    """What the table must know of a found thing."""
    state = FoundState(thing.state)
    if home is None:
        return FoundSituation(state, lies=thing.lies)
    return FoundSituation(state, grouped(home.code), KitState(home.state), thing.lies)


def name_of(thing: FoundPart) -> str:
    """A found thing by its kind and code; what was written down where it is no part of the desk."""
    if thing.part is None:
        return thing.text
    return f"{thing.part.get_kind_display()} {grouped(thing.part.code)}"


def _row(thing: FoundPart, home: Kit | None) -> FoundRow:
    situation = situation_of(thing, home)
    act = found_act(situation)
    rows: dict[str, Any] = {"found": thing, "kit": home, "loan": thing.check_of.loan}
    return FoundRow(
        what=name_of(thing),
        why=found_sentence(situation),
        mark=thing.mark,
        found_in=thing.check_of.loan.kit,
        next=button(act.here, **rows) if act.here else None,
        aside=button(KEEP_ASIDE, **rows) if act.here == MOVE_TO_KIT else None,
        there=button(act.there, **rows),
    )


def move_effects(thing: FoundPart) -> tuple[str, ...]:
    """What moving a found part to its kit will do, or what stands against that, in sentences."""
    home = home_of(thing.part)
    if thing.part is None or home is None:
        return (found_sentence(situation_of(thing, None)),)
    name = f"kit {grouped(home.code)}"
    if thing.part.kit_id is None and not has_room_for(home, thing.part.kind):
        return (f"Its place in {name} is taken: swap it there, or keep this one aside.",)
    effects = [found_sentence(situation_of(thing, home))]
    if owed := owed_for(thing.part):
        effects.append(f"The shortfall of {owed.loan.enrolment.student.name} is recovered.")
    effects.append(f"Kit {grouped(home.code)} must be tested again before it goes out.")
    return tuple(effects)


def aside_effects(thing: FoundPart) -> tuple[str, ...]:
    """What keeping a found thing aside will do, in sentences."""
    part = thing.part
    if part is None:
        return ("No part of this desk is known by that: only where it lies is written down.",)
    if part.kit is None:
        owed = owed_for(part)
        who = owed.loan.enrolment.student.name if owed else ""
        return (f"The shortfall of {who} is recovered.",) if owed else ()
    name = f"kit {grouped(part.kit.code)}"
    if part.kit.state == KitState.AWAY:
        return (f"It stays a part of {name}, and waits here until that is back.",)
    return (f"It comes out of {name}, which is then incomplete, and is a spare.",)


def owed_for(part: Part) -> Shortfall | None:
    """The shortfall that ends when a missing part is found."""
    shorts = Shortfall.objects.select_related("loan__enrolment__student")
    return shorts.filter(
        packing_line__part=part,
        state__in=Shortfall.UNSETTLED,
        kind=Shortfall.Kind.MISSING,
    ).first()
