"""Whether a parcel leaves the sender's customs or tax area, as far as countries and postcodes
tell.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

from .addresses import country_code, country_name
from .customs_places import AREAS, PLACES, CustomsPlace
from .facts import Address

#: How an address says that it is military post, where its postcode does not.
_MILITARY = (
    (re.compile(r"\b(APO|FPO|DPO)\b"), "US", "us-military-post"),
    (re.compile(r"\bBFPO\b"), "GB", "british-forces-post"),
)


class PaperVerdict(StrEnum):
    """Whether customs asks for a paper."""

    NONE = "none"
    NEEDED = "needed"
    UNCLEAR = "unclear"  # Depends on what no table can know: ask.


@dataclass(frozen=True)
class Crossing:
    """What the table says of the way from one place to another."""

    home: CustomsPlace
    place: CustomsPlace
    verdict: PaperVerdict


def crossing(sender: Address, to: Address) -> Crossing | None:
    """The way of a parcel; None where a country is not known.

    Raises ValueError for a country code that is none.
    """
    if not sender.country or not to.country:
        return None
    return way_between(place_of(sender), place_of(to))


def way_between(home: CustomsPlace, away: CustomsPlace) -> Crossing:
    """What the table says of parcels from one place to another."""
    return Crossing(home, away, _verdict(home, away))


def place_of(address: Address) -> CustomsPlace:
    """The special place that an address lies in, else its country as a place.

    Raises ValueError for a country code that is none.
    """
    country = country_code(address.country)
    by_key = {place.key: place for place in PLACES}
    words = f"{address.street} {address.city} {address.region} {address.postcode}".upper()
    for pattern, of, key in _MILITARY:
        if country == of and pattern.search(words):
            return by_key[key]
    postcode = _bare(address.postcode, country)
    for place in PLACES:
        for code, pattern in _patterns(place.key):
            if code == country and pattern.match(postcode):
                return place
    area = AREAS.get(country, "")
    return CustomsPlace(country.lower(), country_name(country), ((country, ""),), area, area)


def place_named(key: str) -> CustomsPlace | None:
    """A place by its key, as in the address of its page; None for none."""
    for place in PLACES:
        if place.key == key:
            return place
    try:
        return place_of(Address("", country=key))
    except ValueError:
        return None


def _verdict(home: CustomsPlace, away: CustomsPlace) -> PaperVerdict:
    if home.key == away.key:
        return PaperVerdict.NONE
    if home.customs in away.unclear or away.customs in home.unclear:
        return PaperVerdict.UNCLEAR
    if home.customs and home.tax and (home.customs, home.tax) == (away.customs, away.tax):
        return PaperVerdict.NONE
    return PaperVerdict.NEEDED


def _bare(postcode: str, country: str) -> str:
    """A postcode without blanks, and without the country that is often written before it."""
    text = re.sub(r"[\s.]", "", postcode.upper())
    return re.sub(rf"^{country}-", "", text).replace("-", "")


@lru_cache(maxsize=100)
def _patterns(key: str) -> tuple[tuple[str, re.Pattern[str]], ...]:
    place = next(place for place in PLACES if place.key == key)
    return tuple((code, re.compile(f"({begins})")) for code, begins in place.where)
