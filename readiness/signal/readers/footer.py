"""Lines of words that a program writes below the numbers when it closes a file."""

from __future__ import annotations

from .cells import NOT_FINITE, is_number, looks_like_numbers, split_row

MOST_LINES = 20
MOST_BYTES = 4096
DELIMITERS = "\t;,"


def without_footer(plain: bytes) -> bytes:
    """The text without its footer.

    Only whole lines of words at the very end are one: a row with a number in it stays, and so does
    a single word right below a single column, which stands where a sample should.
    """
    words: list[str] = []
    set_apart = False
    end = len(plain)
    for _ in range(MOST_LINES):
        begin = plain.rfind(b"\n", max(0, end - MOST_BYTES), end) + 1
        line = plain[begin:end].decode("latin-1").strip()
        if begin == 0:
            return plain
        if looks_like_numbers(line):
            break
        if line and not _is_words(line):
            return plain
        set_apart = not line
        words += [line] if line else []
        end = begin - 1
    else:
        return plain
    in_columns = any(delimiter in line for delimiter in DELIMITERS)
    if set_apart or all(_is_no_row(text, in_columns=in_columns) for text in words):
        return plain[:end]
    return plain


def _is_words(line: str) -> bool:
    """Whether a line holds words, and no number in any cell."""
    cells = [cell.strip() for delimiter in DELIMITERS for cell in split_row(line, delimiter)]
    numbers = any(
        is_number(cell, mark) or cell.lower() in NOT_FINITE for cell in cells for mark in ".,"
    )
    return not numbers and any(character.isalpha() for character in line)


def _is_no_row(line: str, *, in_columns: bool) -> bool:
    """Whether a line cannot be a row of the table above it."""
    return " " in line or (in_columns and not any(mark in line for mark in DELIMITERS))
