"""Header values as mail carries them: ASCII only, names and subjects in encoded words that fit
their lines.
"""

from __future__ import annotations

import re
from email.header import Header

from .address import wire_domain

#: Characters of one encoded word (RFC 2047 section 2).
LONGEST_WORD = 75
#: The longest name of a header that carries such words; the first word stands beside it.
LONGEST_NAME = "Reply-To"
_SPECIAL = re.compile(r'[()<>\[\]:;@\\,."]')


def encoded(text: str) -> str:
    """The text as encoded words (RFC 2047), or unchanged where plain ASCII says it already."""
    if text.isascii() and "=?" not in text:
        return text
    header = Header(text, "utf-8", maxlinelen=LONGEST_WORD, header_name=LONGEST_NAME)
    return header.encode(linesep="")


def with_name(name: str, address: str) -> str:
    """Name and address as an address header takes them; the domain in its ASCII form (A-labels)."""
    local_part, _, domain = address.strip().rpartition("@")
    wire_address = f"{local_part}@{wire_domain(domain)}"
    name = " ".join(name.split())
    if not name:
        return wire_address
    return f"{_display_name(name)} <{wire_address}>"


def _display_name(name: str) -> str:
    if encoded(name) != name:
        return encoded(name)
    if not _SPECIAL.search(name):
        return name
    escaped = name.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
