"""Addresses filled into a pattern are those that Django finds, for every page of the desk."""

import re

import pytest
from django.template import engines
from django.urls import NoReverseMatch, get_resolver, reverse
from django.utils.html import escape

from rentals import addresses
from rentals.addresses import page_address

pytestmark = pytest.mark.any_database

_KINDS = {
    "row": (7, 10**12, 10**17),
    "int": (7,),
    "str": ("K0014E", "a b/é%s", "12"),
    "slug": ("w-1",),
}


def _pages(resolver, space=""):
    """Every page by name, with the kinds of what stands in its address."""
    for entry in resolver.url_patterns:
        if hasattr(entry, "url_patterns"):
            inner = f"{space}{entry.namespace}:" if entry.namespace else space
            yield from _pages(entry, inner)
        elif entry.name:
            yield space + entry.name, re.findall(r"<(\w+):", str(entry.pattern))


def test_every_page_has_the_address_that_django_finds():
    filled = 0
    for name, kinds in _pages(get_resolver()):
        for row in zip(*(_KINDS.get(kind, ("x",)) * 3 for kind in kinds), strict=False):
            try:
                expected = reverse(name, args=row)
            except NoReverseMatch:
                with pytest.raises(NoReverseMatch):
                    page_address(name, *row)
                continue
            assert page_address(name, *row) == expected
            filled += 1
    assert filled > 200


def test_the_second_row_of_a_list_looks_nothing_up(monkeypatch):
    first = page_address("rentals:loan", 1)
    monkeypatch.setattr(addresses, "reverse", None)
    assert page_address("rentals:loan", 23) == first.replace("1", "23")


def test_what_fits_no_address_is_refused_as_ever():
    with pytest.raises(NoReverseMatch):
        page_address("rentals:loan", "K0014E")
    with pytest.raises(NoReverseMatch):
        page_address("rentals:loan")
    with pytest.raises(NoReverseMatch):
        page_address("rentals:no_such_page", 1)


def _written(source: str, **words) -> str:
    return engines["django"].from_string(source).render(words)


def test_templates_write_the_addresses_that_django_finds():
    seen = 0
    for name, kinds in _pages(get_resolver()):
        row = [_KINDS.get(kind, ("x",))[0] for kind in kinds]
        parts = " ".join(f"row.{place}" for place in range(len(row)))
        try:
            expected = reverse(name, args=row)
        except NoReverseMatch:
            continue
        words = {"name": name, "row": row}
        assert _written(f"{{% url name {parts} %}}", **words) == escape(expected)
        found = f"{{% url name {parts} as found %}}{{{{ found|safe }}}}"
        assert _written(found, **words) == expected
        seen += 1
    assert seen > 200


def test_templates_look_nothing_up_for_the_second_row(monkeypatch):
    source = "{% for number in rows %}{% url 'rentals:loan' number %} {% endfor %}"
    first = _written(source, rows=[1])
    monkeypatch.setattr(addresses, "reverse", None)
    assert _written(source, rows=[1, 23]) == first + first.replace("1", "23")


def test_templates_refuse_what_fits_no_address_but_where_they_ask_for_it():
    with pytest.raises(NoReverseMatch):
        _written("{% url 'rentals:no_such_page' 1 %}")
    assert _written("{% url 'rentals:no_such_page' 1 as found %}({{ found }})") == "()"
