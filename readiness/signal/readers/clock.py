"""Times that a program stamps with the clock, turned into seconds before the rows are read.

``14:03:07.125``, ``2:03:07 PM``, ``03:07.125`` (minutes and seconds), with a date or ``0 days`` in
front of it, or a date in a column of its own. Seconds count from midnight of the first row; they go
on over midnight.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from readiness.signal.errors import CaptureRefused

from .cells import looks_like_numbers, split_row
from .quoting import quoted

MOST_STAMPS = 400_000
"""20,000 rows a second for twenty seconds; more would cost more time than an answer may."""
PROBED_LINES = 240
LOOKED_AT = 1 << 17
BLOCK_BYTES = 1 << 18
HALF_DAY_S = 43_200
DAY_S = 86_400
_DATE = "|".join(
    (
        r"\d{4}[-/.]\d{1,2}[-/.]\d{1,2}",
        r"\d{1,2}[-/.]\d{1,2}[-/.]\d{2,4}",
        r"\d{1,2}-[A-Za-z]{3}-\d{2,4}",
        r"\d{1,4} days?",
    )
).encode()
_STAMP = (
    rb"(?<![\d.:])(?:(?:(?P<date>" + _DATE + rb")[GAP]\s?)?"
    rb"(?:(?P<hour>\d{1,2}):(?P<minute>\d\d):(?P<second>\d\d)(?:[@](?P<part>\d{1,9}))?"
    rb"(?:\s?(?P<half>[AaPp])\.?[Mm]\.?)?(?:Z|[+-]\d\d:\d\d)?"
    rb"|(?P<minutes>\d{1,3}):(?P<seconds>\d\d)[@](?P<parts>\d{1,9}))"
    rb"|(?:" + _DATE + rb")(?=[;,\t\" ]))(?![\d:])"
)
_HINT = re.compile(rb"\d:\d\d")
_COMMA_CELL = re.compile(r"[+-]?\d+,\d+\Z")


@dataclass(frozen=True)
class Stamped:
    """A text whose stamps are seconds now, and its first row as the file writes it (empty where no
    time is stamped).
    """

    plain: bytes
    first_row: str = ""

    def kinds(self, delimiter: str) -> list[str]:
        """``"time"``, ``"date"`` or nothing for each cell of the first row."""
        if not self.first_row:
            return []
        stamp = _pattern(self.first_row)
        return [_kind(cell, stamp) for cell in split_row(self.first_row, delimiter)]


def as_seconds(plain: bytes) -> Stamped:
    """The text with its stamps written as seconds.

    Raises
    ------
    CaptureRefused
        The date changes where it is not midnight, or the stamps are more than can be read.
    """
    if not _may_be_stamped(plain):
        return Stamped(plain)
    offset = 0
    stamped: list[tuple[int, str]] = []
    for _ in range(PROBED_LINES):
        end = plain.find(b"\n", offset)
        line = plain[offset : end if end >= 0 else len(plain)]
        text = line.decode("latin-1")
        if _HINT.search(line) and _is_row(text):
            stamped.append((offset, text))
        if end < 0 or len(stamped) == 3:
            break
        offset = end + 1
    if len(stamped) < 2:
        return Stamped(plain)
    begin, first = stamped[0]
    if plain.count(b":", begin) > 2.5 * MOST_STAMPS:
        raise CaptureRefused(
            f"More than {MOST_STAMPS:,} rows carry a clock time. Export only the ten seconds of the"
            " test."
        )
    writer = _Writer(_decimal_of([text for _, text in stamped]))
    pattern = _pattern(first)
    blocks = (pattern.sub(writer.seconds, block) for block in _blocks(plain, begin))
    return Stamped(plain[:begin] + b"".join(blocks), first)


def _may_be_stamped(plain: bytes) -> bool:
    """Whether a colon between digits stands near the top; looked for from colon to colon."""
    at = plain.find(b":", 1, LOOKED_AT)
    while at >= 0:
        if _HINT.match(plain, at - 1, LOOKED_AT):
            return True
        at = plain.find(b":", at + 1, LOOKED_AT)
    return False


def _blocks(plain: bytes, begin: int) -> Iterator[bytes]:
    """Whole lines from an offset on, some at a time: the pieces of a text that is written anew take
    many times its memory.
    """
    while begin < len(plain):
        end = plain.find(b"\n", begin + BLOCK_BYTES) + 1
        yield plain[begin : end or len(plain)]
        begin = end or len(plain)


@dataclass
class _Writer:
    """Writes one stamp after the other; knows the day, by the date or by midnight."""

    decimal: bytes
    day: int = 0
    last_s: int = -1
    last_date: bytes | None = field(default=None)

    def seconds(self, stamp: re.Match[bytes]) -> bytes:
        """The bytes that stand for a stamp; a date in a column of its own becomes zero."""
        if stamp["minutes"] is not None:
            whole = 60 * int(stamp["minutes"]) + int(stamp["seconds"])
            return b"%d%b%b" % (whole, self.decimal, stamp["parts"])
        if stamp["hour"] is None:
            return b"0"
        hour = int(stamp["hour"])
        if stamp["half"]:
            hour = hour % 12 + (12 if stamp["half"] in b"Pp" else 0)
        whole = 3600 * hour + 60 * int(stamp["minute"]) + int(stamp["second"])
        self._turn_day(whole, stamp["date"])
        whole += DAY_S * self.day
        return b"%d%b%b" % (whole, self.decimal, stamp["part"]) if stamp["part"] else b"%d" % whole

    def _turn_day(self, whole: int, date: bytes | None) -> None:
        midnight = self.last_s - whole > HALF_DAY_S
        if date != self.last_date and self.last_s >= 0 and not midnight:
            before, after = (self.last_date or b"").decode(), (date or b"").decode()
            raise CaptureRefused(
                f"The date changes from {quoted(before)} to {quoted(after)} where it is not"
                " midnight: the file holds two recordings. Export one."
            )
        if midnight and (date is None or date != self.last_date):
            self.day += 1
        self.last_s, self.last_date = whole, date


def _pattern(row: str) -> re.Pattern[bytes]:
    """What a stamp looks like in rows like this one: a comma before the parts of a second is one
    only where it parts no columns; date and time are one cell only where blanks part none.
    """
    apart = ";" in row or "\t" in row
    marks = b".,:" if apart or '"' in row else b".:"
    gap = b" T" if apart or "," in row else b"T"
    return re.compile(
        _STAMP.replace(b"[@]", b"[" + marks + b"]").replace(b"[GAP]", b"[" + gap + b"]")
    )


def _is_row(text: str) -> bool:
    """Whether a line is a row of numbers once its stamps are numbers."""
    pattern = _pattern(text)
    plain = pattern.sub(b"0", text.encode("latin-1"))
    return looks_like_numbers(plain.decode("latin-1"))


def _kind(cell: str, pattern: re.Pattern[bytes]) -> str:
    stamp = pattern.match(cell.strip().encode("latin-1", "replace") + b" ")
    if stamp is None:
        return ""
    return "time" if stamp["hour"] or stamp["minutes"] else "date"


def _decimal_of(rows: Sequence[str]) -> bytes:
    """The mark that the other numbers of the rows have."""
    for row in rows:
        for delimiter in ("\t", ";", ","):
            cells = split_row(row, delimiter)
            if len(cells) > 1 and (delimiter != "," or '"' in row):
                if any(_COMMA_CELL.match(cell.strip()) for cell in cells):
                    return b","
                break
    return b"."
