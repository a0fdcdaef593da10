"""A letter's two faces, both made from its plain text: wrapped lines, and quiet HTML."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable
from html import escape
from itertools import groupby

from rentals.languages import is_right_to_left, language_tag

WIDTH = 76  # RFC 5322 section 2.1.1 asks for lines of at most 78 characters.
_LINK = re.compile(r"https?://[^\s<>\"']+[^\s<>\"'.,;:!?)\]]")
_PAGE = (
    '<!doctype html>\n<html lang="{language}"{direction}>\n<head>\n<meta'
    ' charset="utf-8">\n<title>{title}</title>\n</head>\n<body'
    ' style="font-family:sans-serif;line-height:1.5;max-width:38em">\n{body}\n</body>\n</html>\n'
)


def wrapped(text: str) -> str:
    """The text with lines of at most 76 characters; a word that is longer keeps its line, a list
    item hangs.
    """
    lines: list[str] = []
    for line in text.splitlines():
        hang = "  " if line.startswith("- ") else ""
        lines += textwrap.wrap(
            line, WIDTH, subsequent_indent=hang, break_long_words=False, break_on_hyphens=False
        ) or [""]
    return "\n".join(lines) + "\n"


def html_body(text: str) -> str:
    """The text as paragraphs and lists, everything escaped, addresses of pages as links."""
    blocks = []
    for block in re.split(r"\n\s*\n", text.strip()):
        blocks += _block(block.splitlines())
    return "\n".join(blocks)


def html_page(title: str, text: str, language: str = "") -> str:
    """A whole HTML document for the mail's second face, in a language such as ``de-at``."""
    direction = ' dir="rtl"' if language and is_right_to_left(language) else ""
    return _PAGE.format(
        title=escape(title),
        body=html_body(text),
        language=language_tag(language or "en"),
        direction=direction,
    )


def _block(lines: list[str]) -> list[str]:
    """One block of lines: runs of "- " lines become a list, the rest a paragraph."""
    blocks: list[str] = []
    for kind, run in groupby(lines, key=_kind):
        if kind != "empty":
            make = _list if kind == "item" else _paragraph
            blocks.append(make(run))
    return blocks


def _kind(line: str) -> str:
    if line.startswith("- "):
        return "item"
    return "text" if line else "empty"


def _list(lines: Iterable[str]) -> str:
    items = "".join(f"<li>{_inline(line[2:])}</li>" for line in lines)
    return f"<ul>{items}</ul>"


def _paragraph(lines: Iterable[str]) -> str:
    return "<p>" + "<br>\n".join(map(_inline, lines)) + "</p>"


def _inline(line: str) -> str:
    """One line escaped, each address of a page in it a link."""
    html, end_of_last = "", 0
    for link in _LINK.finditer(line):
        address = escape(link[0])
        text_before = escape(line[end_of_last : link.start()])
        html += f'{text_before}<a href="{address}">{address}</a>'
        end_of_last = link.end()
    return html + escape(line[end_of_last:])
