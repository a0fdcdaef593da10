"""What the fonts at hand can draw, asked before anything is drawn: cheap enough for the page that
offers the PDF.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

from .fonts import FontChooser, Run


@dataclass(frozen=True)
class Coverage:
    """Texts with a character that no font here has, each named with its code points; and texts set
    in a typeface that the file does not carry (see ``facts.Printed``). False where all is well.
    """

    unprintable: tuple[str, ...] = ()
    borrowed: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.unprintable or self.borrowed)


def coverage(texts: Iterable[str], fonts: FontChooser) -> Coverage:
    """Look every text up; plain ASCII is known to be there and costs nothing."""
    unprintable: dict[str, None] = {}
    borrowed: dict[str, None] = {}
    for text in dict.fromkeys(texts):
        if text.isascii():
            continue
        for line in text.splitlines():
            for run in fonts.runs(line):
                if not run.font:
                    unprintable[with_code_points(line, run)] = None
                elif run.borrowed:
                    borrowed[line] = None
    return Coverage(tuple(unprintable), tuple(borrowed))


def texts_of(facts: Any) -> Iterator[str]:
    """Every text in a value made of dataclasses and tuples, such as the facts of a label."""
    if isinstance(facts, str):
        yield facts
    elif isinstance(facts, (tuple, list)):
        for part in facts:
            yield from texts_of(part)
    elif is_dataclass(facts):
        for field in fields(facts):
            yield from texts_of(getattr(facts, field.name))


def with_code_points(text: str, run: Run) -> str:
    """A text and the characters of it that are missing, such as ``Mila 🎻 (U+1F3BB)``."""
    points = " ".join(f"U+{ord(c):04X}" for c in dict.fromkeys(run.text))
    return f"{text} ({points})"
