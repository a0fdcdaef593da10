"""The letters of a text file that does not say how they are written: which encodings come into
question, and what its texts would read like in each.
"""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from dataclasses import dataclass

#: Encodings of files that are no Unicode, with what people would call them; of two that fit a
#: file as well the upper one goes first.
ENCODINGS = {
    "cp1252": "Western European (Windows)",
    "cp1250": "Central European (Windows)",
    "cp1254": "Turkish (Windows)",
    "cp1257": "Baltic (Windows)",
    "cp1251": "Cyrillic (Windows)",
    "cp1253": "Greek (Windows)",
    "cp1255": "Hebrew (Windows)",
    "cp1256": "Arabic (Windows)",
    "iso8859_2": "Central European (ISO)",
    "iso8859_15": "Western European (ISO)",
    "koi8_r": "Cyrillic (KOI8)",
    "mac_roman": "Western European (older Macintosh)",
    "cp850": "Western European (DOS)",
    "cp852": "Central European (DOS)",
    "cp866": "Cyrillic (DOS)",
    "cp932": "Japanese (Shift JIS)",
    "cp949": "Korean",
    "gb18030": "Chinese, simplified (GB 18030)",
    "big5": "Chinese, traditional (Big5)",
    "euc_jp": "Japanese (EUC)",
    "cp874": "Thai",
    "cp1258": "Vietnamese (Windows)",
}
UNKNOWN = "latin-1"
SHOWN = 6
_SAMPLE = 60
#: So much of a text, from a little before its first letter beyond ASCII, is looked at; and so much
#: of a cell.
_LOOKED_AT, _BEFORE, _OF_A_CELL = 100_000, 200, 200
#: How many readings are offered.
MOST_OFFERED = 8
_CONTROLS = re.compile("[\u0080-\u009f]")
_BEYOND_ASCII = re.compile("[^\x00-\x7f]")
_PARTS = re.compile(r"[,;\t|\r\n\"]+")


@dataclass(frozen=True)
class Reading:
    """One way to read a file's letters, with some of the texts in which the ways differ."""

    encoding: str
    label: str
    samples: tuple[str, ...]


def readings(content: bytes) -> tuple[Reading, ...]:
    """The ways in which a file can be read, the likeliest first; none where it is Unicode, or plain
    letters only, and there is nothing to ask.
    """
    if _is_unicode(content):
        return ()
    found: dict[tuple[str, ...], tuple[float, Reading]] = {}
    for encoding, label in ENCODINGS.items():
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if _CONTROLS.search(text):
            continue  # Letters of another code page: no text holds these signs.
        samples = _foreign_parts(text)
        likely = _likelihood(samples)
        # Encodings that read the same are one answer.
        if samples and samples not in found:
            found[samples] = likely, Reading(encoding, label, samples[:SHOWN])
    ordered = sorted(found.values(), key=lambda pair: -pair[0])
    return tuple(reading for _, reading in ordered[:MOST_OFFERED])


def likeliest(content: bytes) -> str:
    """The encoding of a file that is no Unicode, as far as can be told."""
    found = readings(content)
    return found[0].encoding if found else UNKNOWN


def _is_unicode(content: bytes) -> bool:
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _foreign_parts(text: str) -> tuple[str, ...]:
    """The first different cells that hold a letter beyond ASCII."""
    foreign = _BEYOND_ASCII.search(text)
    begins = max(0, foreign.start() - _BEFORE) if foreign else 0
    parts = _PARTS.split(text[begins : begins + _LOOKED_AT])
    cells = dict.fromkeys(part.strip()[:_OF_A_CELL] for part in parts if not part.isascii())
    return tuple(list(cells)[:_SAMPLE])


def _likelihood(samples: tuple[str, ...]) -> float:
    """The share of foreign characters that read as words do: letters, of the script of the letters
    beside them, small letters inside a word. A wrong code page gives signs among the letters,
    capitals inside words, or two scripts in one name.
    """
    good = everything = 0
    for sample in samples:
        for index, character in enumerate(sample):
            if character.isascii():
                continue
            everything += 1
            before = sample[index - 1] if index else " "
            good += _reads_well(character, before, sample[index + 1 : index + 2] or " ")
    if not everything:
        return 0.0
    # Languages written in Latin letters use plain ones for the most part.
    latin = [c for sample in samples for c in sample if c.isalpha() and _script(c) == "LATIN"]
    foreign = sum(not c.isascii() for c in latin)
    return good / everything * (0.5 if 2 * foreign > len(latin) else 1.0)


def _reads_well(character: str, before: str, after: str) -> bool:
    if not character.isalpha():
        return unicodedata.category(character) == "Mn" or character in "’“”„–"
    if character.isupper() and before.islower():
        return False
    if character.islower() and before.isupper() and after.isupper():
        return False
    scripts = Counter(_script(c) for c in (before, character, after) if c.isalpha())
    return len(scripts) == 1


def _script(character: str) -> str:
    return unicodedata.name(character, "UNKNOWN").split()[0].replace("HIRAGANA", "CJK")
