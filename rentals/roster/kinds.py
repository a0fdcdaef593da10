"""What a text looks like, whatever its heading says: an address of mail, a postcode, a country, a
word.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping

from .addresses import country_of, email_fault

_PHONE = re.compile(r"\+?[\d\s()/.\-–]{6,24}( ?(x|ext\.?) ?\d{1,6})?", re.IGNORECASE)
_POSTCODE = re.compile(r"[A-Za-z0-9][A-Za-z0-9 \-]{1,11}")
_WORD = re.compile(r"[A-Z]?[a-z]{2,}|[A-Z]{5,}")
_HOUSE = re.compile(r"\d{1,5}\s?[A-Za-z]?([\s/\-]\s?\d{0,5}\s?[A-Za-z]?)?")
_FLAT = re.compile(
    r"(apt|apartment|flat|unit|suite|ste|room|floor|door|wohnung|whg|stiege|top|appartement|app|appt"
    r"|étage|apto|piso|puerta|interno|scala)\.?\s*#?\s*\d.*|#\s*\d+.*|\d+\s*(st|nd|rd|th)? floor",
    re.IGNORECASE,
)


def has_digit(text: str) -> bool:
    """Whether a digit stands in it, of any script."""
    return any(character.isdecimal() for character in text)


def is_words(text: str) -> bool:
    """Whether it begins with a letter and is no mail address, as a name or a region."""
    return text[:1].isalpha() and "@" not in text


def is_postcode(text: str) -> bool:
    """Whether it could be a postcode: short, and with a digit, as those of every country are (from
    memory of the postal formats of the CLDR and the address data this desk uses).
    """
    return has_digit(text) and bool(_POSTCODE.fullmatch(text)) and not _WORD.search(text)


def is_phone(text: str) -> bool:
    """Whether it could be a telephone number: six digits or more, and what stands between them."""
    return bool(_PHONE.fullmatch(text)) and sum(c.isdecimal() for c in text) >= 6


def is_part_of_a_street(text: str) -> bool:
    """Whether it is a flat, a floor or a bare number: what an unquoted comma cuts off a street."""
    return bool(_FLAT.fullmatch(text.strip())) or bool(_HOUSE.fullmatch(text.strip()))


def _is_mail(text: str) -> bool:
    return "@" in text and not email_fault(text.removeprefix("mailto:"))


#: How the texts of a field look; a field that can be anything is not here.
LOOKS: Mapping[str, Callable[[str], bool]] = {
    "name": is_words,
    "first_name": is_words,
    "last_name": is_words,
    "email": _is_mail,
    "phone": is_phone,
    "street": lambda text: any(c.isalpha() for c in text) and "@" not in text,
    "house": lambda text: bool(_HOUSE.fullmatch(text)),
    "city": lambda text: any(c.isalpha() for c in text) and "@" not in text,
    "postcode": is_postcode,
    "region": is_words,
    "country": lambda text: bool(country_of(text)[0]),
}


def share_that_looks_like(field: str, texts: Iterable[str]) -> float:
    """The share, 0 to 1, of the texts that look like the field; 1 where there is none or the field
    can be anything.
    """
    look = LOOKS.get(field)
    filled = [text for text in texts if text]
    if look is None or not filled:
        return 1.0
    return sum(map(look, filled)) / len(filled)
