"""Addresses of pages for rows of lists, found once for each kind of page and filled in for each
row: a long list asks for hundreds.
"""

from __future__ import annotations

from functools import lru_cache

from django.urls import NoReverseMatch, get_script_prefix, get_urlconf, reverse

#: Stand-ins for the parts of an address that differ from row to row: of the shape that numbers of
#: rows and codes have, and found in no address by chance.
_NUMBERS = (738_100_427_001, 738_100_427_002, 738_100_427_003)
_CODES = ("K738100427A", "K738100427B", "K738100427C")
_MOST_DIGITS = 12


def page_address(name: str, *parts: object) -> str:
    """What `reverse` gives for the page of this name. Raises NoReverseMatch as that does."""
    if not all(map(_is_plain, parts)):
        return reverse(name, args=parts)
    kinds = tuple(map(type, parts))
    pattern = _pattern(name, kinds, get_script_prefix(), get_urlconf())
    return pattern % parts if pattern else reverse(name, args=parts)


def _is_plain(part: object) -> bool:
    """Whether a part stands in an address as it is, whatever stands beside it."""
    if type(part) is int:
        return 0 <= part < 10**_MOST_DIGITS
    return type(part) is str and part.isascii() and part.isalnum()


@lru_cache(maxsize=1000)
def _pattern(name: str, kinds: tuple[type, ...], prefix: str, urlconf: str | None) -> str:
    """The address with %s in place of each part; empty where the parts decide more than
    themselves.
    """
    of_kind = {int: iter(_NUMBERS), str: iter(_CODES)}
    try:
        stand_ins = [next(of_kind[kind]) for kind in kinds]
        found = reverse(name, args=stand_ins, urlconf=urlconf)
    except (NoReverseMatch, StopIteration):
        return ""
    pattern = found.replace("%", "%%")
    for stand_in in stand_ins:
        if pattern.count(str(stand_in)) != 1:
            return ""
        pattern = pattern.replace(str(stand_in), "%s")
    return pattern
