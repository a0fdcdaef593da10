"""Header values as mail carries them: ASCII only, names and subjects in encoded words that fit
their lines.

The standard library folds to words of 76 characters, one more than RFC 2047 section 2 allows, and
parts a name between letters; so the words are cut here.
"""

from __future__ import annotations

import base64
import re

from .address import wire_domain

# : Bytes in one word: 48 characters of Base64 and 12 around them stay below 75 (RFC 2047 section
# 2), and below 76
#: together with the longest header name in use.
WORD_BYTES = 36
_SPECIAL = re.compile(r'[()<>\[\]:;@\\,."]')


def encoded(text: str) -> str:
    """The text as encoded words (RFC 2047), or unchanged where plain ASCII says it already."""
    if text.isascii() and "=?" not in text:
        return text
    words, held = [], b""
    for character in text:
        more = character.encode()
        if len(held) + len(more) > WORD_BYTES:
            words.append(held)
            held = b""
        held += more
    words.append(held)
    return " ".join(f"=?utf-8?b?{base64.b64encode(word).decode()}?=" for word in words)


def with_name(name: str, address: str) -> str:
    """Name and address as an address header takes them; the domain in its ASCII form (A-labels)."""
    local, _, domain = address.strip().rpartition("@")
    bare = f"{local}@{wire_domain(domain)}"
    name = " ".join(name.split())
    if not name:
        return bare
    shown = encoded(name)
    if shown is name and _SPECIAL.search(name):
        escaped = name.replace("\\", "\\\\").replace('"', '\\"')
        shown = f'"{escaped}"'
    return f"{shown} <{bare}>"
