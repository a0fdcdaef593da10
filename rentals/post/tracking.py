"""Where a parcel can be followed: the address of a carrier with the tracking number in it. Pure; no
Django.
"""

from __future__ import annotations

import re
from urllib.parse import quote, urlsplit

PLACE = "{number}"
LONGEST_PATTERN = 300
_ADDRESS = re.compile(r"[!#-;=?-\[\]_a-z~]*")


def pattern_fault(pattern: str) -> str:
    """Why a pattern is no address of a carrier's tracking page; empty for a good one."""
    if len(pattern) > LONGEST_PATTERN:
        return f"The address is longer than {LONGEST_PATTERN} characters."
    if pattern.count(PLACE) != 1:
        return f"Put {PLACE} once where the tracking number goes."
    if not _ADDRESS.fullmatch(pattern.replace(PLACE, "")):
        return f"The address holds a blank, or a sign that no address has. Only {PLACE} has braces."
    return _site_fault(pattern)


def _site_fault(pattern: str) -> str:
    try:
        parts = urlsplit(pattern)
        site = parts.hostname or ""
    except ValueError:
        return "This is no address of a site."
    if parts.scheme != "https":
        return "The address must begin with https://."
    if "@" in parts.netloc or PLACE in parts.netloc:
        return "The name of the site must stand there by itself, without a number or a user."
    if "." not in site.strip("."):
        return "The address must name a site, as in https://parcels.example/."
    return ""


def tracking_address(pattern: str, number: str) -> str:
    """The page of one parcel; empty where the pattern or the number is. Whatever stands in a number
    stays one piece of the address.
    """
    if not (pattern and number):
        return ""
    return pattern.replace(PLACE, quote(number, safe=""))
