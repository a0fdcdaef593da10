"""Templates show finished answers: no state is compared with a word in them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from rentals.marks import Sign

TEMPLATES = Path(__file__).parent.parent / "templates"
PAGES = sorted(TEMPLATES.rglob("*.html"))
STYLES = (TEMPLATES.parent / "static/kitdesk/css/kitdesk.css").read_text(encoding="utf-8")
STATES = "state|stage|status|place|outcome|verdict|standing|mark"
COMPARED = re.compile(
    rf"""
    \b({STATES}) \s* (== | != | in\b | not\ in\b) \s* ["'\[]
    | ["'] \s* (== | != | in\b) \s* [\w.]* \b({STATES})\b
    """,
    re.VERBOSE,
)
TAG = re.compile(r"{%.*?%}", re.DOTALL)
SHOWN = re.compile(r"""{%\s*state\s+(["'])(.*?)\1""")


def compared(source: str) -> list[str]:
    """Tags of a template that compare a state with a word."""
    return [tag for tag in TAG.findall(source) if COMPARED.search(tag)]


@pytest.mark.parametrize(
    "tag",
    [
        '{% if kit.state == "held" %}',
        "{% elif line.round.verdict != 'fit' %}",
        '{% if a and loan.stage == "away" %}',
        '{% if "open" == row.state %}',
        '{% if capture.status in "waiting scoring" %}',
    ],
)
def test_a_comparison_is_found(tag: str) -> None:
    assert compared(tag)


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(TEMPLATES)))
def test_no_template_compares_a_state_with_a_word(page: Path) -> None:
    assert compared(page.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("page", PAGES, ids=lambda page: str(page.relative_to(TEMPLATES)))
def test_every_sign_that_a_template_names_is_known(page: Path) -> None:
    named = [sign for _, sign in SHOWN.findall(page.read_text(encoding="utf-8"))]
    assert [sign for sign in named if sign not in Sign.values] == []


def test_a_list_without_marks_is_still_called_a_list() -> None:
    """Safari takes a list whose marks the stylesheet removes for plain text, unless it has its
    role.
    """
    bare = "|".join(re.findall(r"^ *\.([\w-]+) { [^}]*list-style: none;", STYLES, re.MULTILINE))
    assert "checklist" in bare and "links" in bare
    roleless = r'<[uo]l (?![^>]*role="list")[^>]*class="'
    named = re.compile(rf'{roleless}[^"]*(?<![\w-])(?:{bare})(?![\w-])')
    sources = {page: page.read_text(encoding="utf-8") for page in PAGES}
    assert [page.name for page, source in sources.items() if named.search(source)] == []
    for page in ("_parts/_nav.html", "readiness/_trace.html"):  # bare within .nav and .trace
        assert sources[TEMPLATES / page].count("<ul") == sources[TEMPLATES / page].count(
            'role="list"'
        )
