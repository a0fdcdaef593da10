"""Takes from a page whatever leads to a refusal: forms, buttons and links, found in the page
itself, so that no template can forget one. The pages are the desk's own; what people typed is
escaped in them and never looks like a tag.
"""

from __future__ import annotations

import re
from html import unescape
from typing import Protocol
from urllib.parse import urljoin

_ATTRIBUTES = r"""((?:[^>"']|"[^"]*"|'[^']*')*)"""
_FORM = re.compile(rf"<form\b{_ATTRIBUTES}>.*?</form>", re.DOTALL)
_BUTTON = re.compile(rf"<button\b{_ATTRIBUTES}>.*?</button>", re.DOTALL)
_INPUT = re.compile(rf"<input\b{_ATTRIBUTES}>")
_LINK = re.compile(rf"<a\b{_ATTRIBUTES}>(.*?)</a>", re.DOTALL)
_LINK_ALONE = re.compile(
    rf"<(li|p)\b[^>]*>\s*<a\b{_ATTRIBUTES}>(?:(?!</a>).)*</a>\s*</\1>", re.DOTALL
)
_LOADED = re.compile(rf"<div\b(?=[^>]*\bhx-get=){_ATTRIBUTES}>.*?</div>", re.DOTALL)
_EMPTY = re.compile(
    r"<(li|p|ul|details|section)\b(?![^>]*\bid=)[^>]*>\s*"
    r"(?:<(h2|h3|summary)\b[^>]*>(?:(?!</\2>).)*</\2>\s*)?</\1>",
    re.DOTALL,
)
_WAY = re.compile(r"<li data-way>(?:(?!<a\b).)*?</li>", re.DOTALL)
"""A line that is there for its link alone, once the link is gone."""
_BUTTON_CLASSES = {"act", "do", "quiet"}
_NESTED = 3
"""How deep emptied lists and sections stand in one another, at most."""


class Lets(Protocol):
    """Whether a page may be opened, or a form sent there."""

    def __call__(self, address: str, *, posting: bool) -> bool: ...


def shown_to(page: str, path: str, lets: Lets) -> str:
    """The page at `path` without what its reader may not use. A link in a text stays as text;
    one that is a line of its own goes."""
    return _Sweep(path, lets).over(page)


class _Sweep:
    def __init__(self, path: str, lets: Lets) -> None:
        self._path = path
        self._lets = lets
        self._gone: set[str] = set()
        self._took = False

    def over(self, page: str) -> str:
        page = _FORM.sub(self._form, page)
        page = _BUTTON.sub(self._button, page)
        page = _INPUT.sub(self._input, page)
        page = _LOADED.sub(self._loaded, page)
        page = _LINK_ALONE.sub(self._link_alone, page)
        page = _LINK.sub(self._link, page)
        if self._took:
            page = _WAY.sub("", page)
            for _ in range(_NESTED):
                page = _EMPTY.sub("", page)
        return page

    def _may(self, address: str, *, posting: bool) -> bool:
        return self._lets(urljoin(self._path, address), posting=posting)

    def _nothing(self) -> str:
        self._took = True
        return ""

    def _form(self, found: re.Match[str]) -> str:
        facts = found[1]
        posting = _value(facts, "method").lower() == "post"
        if self._may(_value(facts, "action"), posting=posting):
            return found[0]
        self._gone.add(_value(facts, "id"))
        return self._nothing()

    def _button(self, found: re.Match[str]) -> str:
        facts = found[1]
        sent_to = _value(facts, "formaction")
        posting = _value(facts, "formmethod").lower() == "post"
        if _value(facts, "form") in self._gone - {""}:
            return self._nothing()
        if sent_to and not self._may(sent_to, posting=posting):
            return self._nothing()
        return found[0] if self._may_post(facts) else self._nothing()

    def _input(self, found: re.Match[str]) -> str:
        lost = _value(found[1], "form") in self._gone - {""} or not self._may_post(found[1])
        return self._nothing() if lost else found[0]

    def _may_post(self, facts: str) -> bool:
        address = _value(facts, "hx-post")
        return not address or self._may(address, posting=True)

    def _loaded(self, found: re.Match[str]) -> str:
        address = _value(found[1], "hx-get")
        return found[0] if self._may(address, posting=False) else self._nothing()

    def _link_alone(self, found: re.Match[str]) -> str:
        """A line that is nothing but its link."""
        is_open = self._may(_value(found[2], "href"), posting=False)
        return found[0] if is_open else self._nothing()

    def _link(self, found: re.Match[str]) -> str:
        if self._may(_value(found[1], "href"), posting=False):
            return found[0]
        self._took = True
        look = _value(found[1], "class")
        if _BUTTON_CLASSES & set(look.split()):
            return ""
        return f'<span class="{look}">{found[2]}</span>' if look else found[2]


def _value(facts: str, name: str) -> str:
    """The value of an attribute; empty where there is none."""
    found = re.search(rf'(?:^|\s){name}="([^"]*)"', facts)
    return unescape(found[1]) if found else ""
