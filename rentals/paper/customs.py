"""Whether a parcel leaves the sender's customs area, as far as countries and postcodes tell."""

import re

from .addresses import country_code
from .facts import Address

_EUROPEAN_UNION = "AT BE BG CY CZ DE DK EE ES FI FR GR HR HU IE IT LT LU LV MT NL PL PT RO SE SI SK"
#: Areas within which parcels cross no customs border (Regulation (EU) 952/2013 article 4 with
#: Monaco; customs unions of Switzerland with Liechtenstein and of the United Kingdom with its
#: islands; from memory). Every other country is an area of its own.
_CUSTOMS_AREAS = (
    frozenset({*_EUROPEAN_UNION.split(), "MC"}),
    frozenset({"CH", "LI"}),
    frozenset({"GB", "GG", "IM", "JE"}),
)
#: Postcodes inside a member country but outside its customs or tax area, where carriers ask for
#: papers (from memory).
_POSTCODES_OUTSIDE = {
    "ES": r"(35|38|51|52)",
    "DE": r"(27498|78266)$",
    "IT": r"23041$",
    "FI": r"22\d{3}$",
}


def needs_contents_statement(sender: Address, to: Address) -> bool:
    """Whether a parcel from one address to the other leaves the sender's customs area.

    Where a country is not known it does not. Raises ValueError for a country code that is none.
    """
    if not sender.country or not to.country:
        return False
    home, away = country_code(sender.country), country_code(to.country)
    if _is_outside(away, to.postcode) or _is_outside(home, sender.postcode):
        return (away, to.postcode) != (home, sender.postcode)
    return home != away and not _share_an_area(home, away)


def _is_outside(country: str, postcode: str) -> bool:
    pattern = _POSTCODES_OUTSIDE.get(country)
    return bool(pattern and re.match(pattern, postcode.replace(" ", "")))


def _share_an_area(home: str, away: str) -> bool:
    return any(home in area and away in area for area in _CUSTOMS_AREAS)
