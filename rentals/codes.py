"""Codes on labels: building, reading and printing them.

A code is a prefix letter, a number of at least four digits and one check character: ``K0014E``. The
prefix says what the label sticks to (K a kit, P a part, L a lead); the number only ever uses the
digits 0 to 9, so that letters and digits cannot be confused inside it, and a person types six
characters. The check character is that of ISO 7064, system MOD 37,36, over prefix and number: it
finds every single wrong character and nearly all swaps of neighbours, so a mistyped code is refused
and never taken for another kit.

The check character may itself be one of O, 0, I or 1. It is not guessed either: the labels print it
in a face that tells these apart, and a code typed with its look-alike is refused with a sentence
that says so.
"""

import re
import unicodedata
from ipaddress import ip_address
from urllib.parse import unquote, urlsplit

from stdnum.exceptions import ValidationError
from stdnum.iso7064 import mod_37_36

KIT = "K"
PART = "P"
LEAD = "L"
PREFIXES = {KIT: "kit", PART: "part", LEAD: "lead"}
MIN_DIGITS = 4
MAX_DIGITS = 9
MAX_SCAN_LENGTH = 2000

_SHAPE = re.compile(rf"([A-Z])([0-9]{{{MIN_DIGITS},{MAX_DIGITS}}})([0-9A-Z])")
_LOOK_ALIKES = {"O": "0", "0": "O", "I": "1", "1": "I"}
_SEPARATORS = re.compile(r"[\s\u00ad\u200b-\u200f\u202a-\u202e\u2060\ufeff._]+")
_WANTED = (
    "A code is K (kit), P (part) or L (lead), then at least four digits, then one check character,"
    " as in K 0014 E."
)


class NotACode(ValueError):
    """The text is no code of ours; ``sentence`` says why, in words for the person who typed it."""

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence)
        self.sentence = sentence


def make_code(prefix: str, number: int) -> str:
    """The code of one number under a prefix, check character included (ISO 7064 MOD 37,36).

    Raises ValueError for a prefix other than K, P or L, and for a number below 1 or of more than
    nine digits.
    """
    if prefix not in PREFIXES:
        raise ValueError(f"prefix must be one of {', '.join(PREFIXES)}, not {prefix!r}")
    if not 1 <= number < 10**MAX_DIGITS:
        raise ValueError(f"number must be from 1 to {10**MAX_DIGITS - 1}, not {number}")
    body = f"{prefix}{number:0{MIN_DIGITS}d}"
    return body + mod_37_36.calc_check_digit(body)


def parse_code(text: str) -> str:
    """The code in what was typed or scanned, as ``make_code`` wrote it.

    Case, spaces, hyphens and invisible characters do not matter, full-width letters and digits
    count as plain ones, and the address from a QR code (``https://.../s/CODE``) is as good as the
    code. Raises NotACode for all else, a letter standing where only a digit can be included: it is
    refused, not read as the digit it resembles.
    """
    if len(text) > MAX_SCAN_LENGTH:
        raise NotACode(f"This is too long to be a code. {_WANTED}")
    typed = _last_path_part(text)
    code = _plain(typed)
    if not code:
        raise NotACode(f"There is no code here. {_WANTED}")
    match = _SHAPE.fullmatch(code)
    if not match or match[1] not in PREFIXES or str(int(match[2])).zfill(MIN_DIGITS) != match[2]:
        raise NotACode(_why_misshapen(code, typed))
    try:
        return mod_37_36.validate(code)
    except ValidationError:
        raise NotACode(_why_check_fails(code)) from None


def is_code(text: str) -> bool:
    """Whether ``parse_code`` would accept the text: for boxes that take codes and names alike."""
    try:
        parse_code(text)
    except NotACode:
        return False
    return True


def looks_like_code(text: str) -> bool:
    """Whether a text has the shape of a code, right or mistyped: it is not to be taken for a number
    of somebody else's.
    """
    match = _SHAPE.fullmatch(_plain(_last_path_part(text)))
    return match is not None and match[1] in PREFIXES


def kind_of(code: str) -> str:
    """What a well-formed code stands for: ``kit``, ``part`` or ``lead``."""
    return PREFIXES[code[0]]


def grouped(code: str) -> str:
    """A well-formed code as it is printed and read aloud: ``K0014E`` becomes ``K 0014 E``.

    Numbers of more than four digits are split from the right, ``K1234567X`` becomes ``K 123 4567
    X``.
    """
    number = code[1:-1]
    groups: list[str] = []
    while number:
        groups.insert(0, number[-MIN_DIGITS:])
        number = number[:-MIN_DIGITS]
    return " ".join((code[0], *groups, code[-1]))


def code_link(site_url: str, code: str) -> str:
    """The address that a label's QR code carries.

    Scheme and host mean the same in capitals (RFC 3986 section 6.2.2.1), and the site answers
    ``/S/CODE`` like ``/s/CODE``; in capitals the QR code uses its denser alphanumeric mode. A site
    below a path of its own keeps that path as written, since paths may differ by case.
    """
    base = site_url.rstrip("/")
    parts = urlsplit(base)
    if parts.scheme not in ("http", "https") or not parts.netloc:
        raise ValueError(
            "the site address must start with http:// or https:// and name a host, not"
            f" {site_url!r}"
        )
    return f"{base}/s/{code}" if parts.path else f"{base}/s/{code}".upper()


def qr_text(site_url: str, code: str) -> str:
    """What a QR code on paper says: the address of `code_link`, or the bare code where the desk has
    no address that a phone can open. The scan box reads both.
    """
    return code_link(site_url, code) if site_url else code


def reachable(site_url: str) -> str:
    """An address of the desk without a slash at its end; empty where only the desk's own machine
    can open it.
    """
    host = urlsplit(site_url).hostname or ""
    try:
        own_machine = ip_address(host).is_loopback or ip_address(host).is_unspecified
    except ValueError:
        own_machine = not host or host == "localhost" or host.endswith(".localhost")
    return "" if own_machine else site_url.rstrip("/")


def _last_path_part(text: str) -> str:
    """The last path part of a scanned address; any other text unchanged."""
    stripped = text.strip()
    if "://" not in stripped[:12]:
        return stripped
    try:
        path = urlsplit(stripped).path
    except ValueError:
        return stripped
    return unquote(path.rstrip("/").rpartition("/")[2])


def _plain(text: str) -> str:
    """Without separators, full-width forms folded, ASCII in capitals; other letters stay, to be
    refused.
    """
    folded = _SEPARATORS.sub("", unicodedata.normalize("NFKC", text))
    without_dashes = "".join(c for c in folded if unicodedata.category(c) != "Pd")
    return "".join(c.upper() if c.isascii() else c for c in without_dashes)


def _why_misshapen(code: str, typed: str) -> str:
    number = code[1:-1]
    letters = sorted({c for c in number if c in "OI" or (c.isascii() and c.isalpha())})
    if code[:1] in PREFIXES and len(number) >= MIN_DIGITS and letters:
        letter_list = " and ".join(letters)
        fault = f"{_clipped(code)} has {letter_list} where only digits can stand."
        return f"{fault} Look at the label again. {_WANTED}"
    return f"“{_clipped(typed)}” is not a code. {_WANTED}"


def _why_check_fails(code: str) -> str:
    twin = _LOOK_ALIKES.get(code[-1])
    if twin and mod_37_36.is_valid(code[:-1] + twin):
        return (
            f"{grouped(code)} does not hold together: its last character looks like another one."
            " The letters O and I and the digits 0 and 1 are easily mistaken; look at the label"
            " again."
        )
    return (
        f"{grouped(code)} does not hold together: one character is wrong or two are swapped. Look"
        " at the label again."
    )


def _clipped(text: str, length: int = 24) -> str:
    return text if len(text) <= length else text[: length - 1] + "…"
