"""Every way leads to a page that is there, and none is written in vain."""

from __future__ import annotations

from django.urls import get_resolver

from rentals.next_acts import (
    GO_TO_BENCH,
    RESTOCK,
    Argument,
    Way,
    run_act,
    sooner_way,
    way_elsewhere,
)
from rentals.next_acts import kits as kits_room
from rentals.next_acts import loans as loans_room
from rentals.next_acts import mails as mails_room
from rentals.next_acts import parts as parts_room

from .situations import all_answers, kits, loans, runs


def every_way() -> set[Way]:
    ways = {answer.there for answer in all_answers()}
    ways |= {answer.here for answer in all_answers() if answer.here}
    ways |= {way for run in runs() if (way := run_act(run))}
    ways |= {way for kit in kits() if (way := way_elsewhere(kit))}
    ways |= {sooner_way(loan) for loan in loans()}
    return ways | {GO_TO_BENCH, RESTOCK}


PLACES = {
    Argument.NOTHING: [],
    Argument.NAME_OF_RUN: [],
    Argument.KIT: ["code"],
    Argument.PART: ["code"],
    Argument.ROSTER: ["run_pk", "pk"],
}


def test_every_route_leads_somewhere_with_the_argument_it_is_given():
    for way in every_way():
        namespace, name = way.route.split(":")
        _, resolver = get_resolver().namespace_dict[namespace]
        [(pattern, *_)] = resolver.reverse_dict.getlist(name)
        [(_, arguments)] = pattern
        assert len(arguments) == len(PLACES.get(way.argument, ["pk"])), way
        assert ("code" in arguments) == (way.argument in (Argument.KIT, Argument.PART)), way


def test_every_way_that_is_written_is_in_use():
    rooms = (kits_room, loans_room, mails_room, parts_room)
    written = {way for room in rooms for way in vars(room).values() if isinstance(way, Way)}
    assert written <= every_way()
