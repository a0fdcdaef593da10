"""Which shapes Han characters get: the same character is written a little differently in China,
Taiwan, Hong Kong, Japan and Korea.
"""

from collections.abc import Callable

SIMPLIFIED, TRADITIONAL, HONG_KONG = "zh-Hans", "zh-Hant", "zh-HK"
JAPANESE, KOREAN = "ja", "ko"

#: Language by ISO 3166 country, where Han characters are in use.
_OF_COUNTRY = {
    "CN": SIMPLIFIED,
    "SG": SIMPLIFIED,
    "MY": SIMPLIFIED,
    "TW": TRADITIONAL,
    "HK": HONG_KONG,
    "MO": HONG_KONG,
    "JP": JAPANESE,
    "KR": KOREAN,
    "KP": KOREAN,
}
#: Language by the last word of the name of a collection's family.
_OF_FAMILY = {
    "SC": SIMPLIFIED,
    "TC": TRADITIONAL,
    "HK": HONG_KONG,
    "JP": JAPANESE,
    "KR": KOREAN,
}
#: Character sets that hold a language's everyday characters, asked in this order.
_EVERYDAY = (
    (SIMPLIFIED, "gb2312"),
    (TRADITIONAL, "big5"),
    (JAPANESE, "shift_jis"),
    (KOREAN, "euc_kr"),
)


def language_of(text: str, country: str = "") -> str:
    """The language whose shapes a text gets: told by the kana, hangul or bopomofo beside its Han
    characters, then by the country, then by which everyday characters they are.
    """
    for character in text:
        point = ord(character)
        if 0x3040 <= point <= 0x30FF:
            return JAPANESE
        if 0xAC00 <= point <= 0xD7A3 or 0x1100 <= point <= 0x11FF:
            return KOREAN
        if 0x3105 <= point <= 0x312F:
            return TRADITIONAL
    return _OF_COUNTRY.get(country.upper()) or _by_everyday_characters(text)


def language_of_family(family: str) -> str:
    """The language of a face, by its family such as ``Sans JP``; empty for another family, and for
    one of fixed width.
    """
    words = family.split()
    return "" if not words or "Mono" in words else _OF_FAMILY.get(words[-1], "")


def has_character(codec: str) -> Callable[[str], bool]:
    """Whether a character set holds a character."""

    def has(character: str) -> bool:
        try:
            character.encode(codec)
        except UnicodeEncodeError:
            return False
        return True

    return has


def _by_everyday_characters(text: str) -> str:
    han = [character for character in text if 0x4E00 <= ord(character) <= 0x9FFF]
    if not han:
        return SIMPLIFIED
    fitting = (language for language, codec in _EVERYDAY if all(map(has_character(codec), han)))
    return next(fitting, SIMPLIFIED)
