"""Transit times for Setup."""

from __future__ import annotations

from dataclasses import dataclass

from rentals.models import TransitTime
from rentals.planning.day_rules import ABROAD, HOME, USUAL_TRANSIT, country_name

PLACES = {HOME: "At home", ABROAD: "Abroad"}


@dataclass(frozen=True)
class TransitRow:
    """The days to a place; `is_set` tells a row of the owner's from what is usual."""

    place: str
    name: str
    days_out: int
    days_back: int
    is_set: bool


def place_name(place: str) -> str:
    """What a place is called on screen."""
    return PLACES.get(place) or country_name(place)


def transit_rows() -> list[TransitRow]:
    """Home and abroad, set or usual, then every country that has its own days, by name."""
    on_file = {row.destination: row for row in TransitTime.objects.all()}
    rows = [_row(place, on_file.get(place)) for place in {**dict.fromkeys(PLACES), **on_file}]
    own = sorted((row for row in rows if row.place not in PLACES), key=lambda row: row.name)
    return [*rows[: len(PLACES)], *own]


def transit_row(place: str) -> TransitRow:
    """The days to one place."""
    return _row(place, TransitTime.objects.filter(destination=place).first())


def _row(place: str, on_file: TransitTime | None) -> TransitRow:
    if on_file is not None:
        days = (on_file.days_out, on_file.days_back)
    else:
        days = USUAL_TRANSIT[HOME if place == HOME else ABROAD]
    return TransitRow(place, place_name(place), *days, is_set=on_file is not None)
