"""A letter's two faces, both made from its plain text: wrapped lines, and quiet HTML."""

from __future__ import annotations

import re
import textwrap

from django.utils.html import escape

WIDTH = 76  # RFC 5322 section 2.1.1 asks for lines of at most 78 characters.
_LINK = re.compile(r"https?://[^\s<>\"']+[^\s<>\"'.,;:!?)\]]")
_PAGE = (
    '<!doctype html>\n<html lang="en">\n<head>\n<meta'
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


def html_page(title: str, text: str) -> str:
    """A whole HTML document for the mail's second face."""
    return _PAGE.format(title=escape(title), body=html_body(text))


def _block(lines: list[str]) -> list[str]:
    """One block of lines: runs of "- " lines become a list, the rest a paragraph."""
    made: list[str] = []
    plain: list[str] = []
    items: list[str] = []
    for line in [*lines, ""]:
        is_item = line.startswith("- ")
        if items and not is_item:
            made.append("<ul>" + "".join(f"<li>{_inline(item)}</li>" for item in items) + "</ul>")
            items = []
        if plain and (is_item or not line):
            made.append("<p>" + "<br>\n".join(map(_inline, plain)) + "</p>")
            plain = []
        if is_item:
            items.append(line[2:])
        elif line:
            plain.append(line)
    return made


def _inline(line: str) -> str:
    said, last = "", 0
    for found in _LINK.finditer(line):
        address = escape(found[0])
        said += escape(line[last : found.start()]) + f'<a href="{address}">{address}</a>'
        last = found.end()
    return said + escape(line[last:])
