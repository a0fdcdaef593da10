"""Which addresses mail can go to, and how their domains go over the wire."""

from __future__ import annotations

import pytest

from rentals.post.address import address_fault, wire_domain


@pytest.mark.parametrize(
    ("domain", "wire"),
    [
        # RFC 5891/5892: "ß" is a letter of its own since IDNA 2008 (the older rule made it "ss":
        # another domain).
        ("straße.example", "xn--strae-oqa.example"),
        ("bücher.example", "xn--bcher-kva.example"),
        ("plain.example", "plain.example"),
    ],
)
def test_domains_beyond_ascii(domain, wire):
    assert wire_domain(domain) == wire
    assert address_fault(f"ada@{domain}") == ""


def test_a_domain_without_an_ascii_form_is_refused():
    assert "look for a slip" in address_fault("ada@" + "ü" * 60 + ".example")
