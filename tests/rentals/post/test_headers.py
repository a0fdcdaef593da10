"""Names, subjects and addresses as headers take them."""

from __future__ import annotations

from email.header import decode_header, make_header

import pytest

from rentals.post.headers import LONGEST_WORD, encoded, with_name

A = "ada@strings.example"


@pytest.mark.parametrize(
    ("name", "header"),
    [
        ("", A),
        ("  ", A),
        ("Ada Test", f"Ada Test <{A}>"),
        ("Ada\n Test", f"Ada Test <{A}>"),
        ("Test, Ada", f'"Test, Ada" <{A}>'),
        ('Ada "Vio" Test', rf'"Ada \"Vio\" Test" <{A}>'),
    ],
)
def test_a_name_stands_before_its_address(name, header):
    assert with_name(name, A) == header


def test_letters_beyond_ascii_go_as_encoded_words_that_fit_their_lines():
    subject = "Größe und Länge der Bänder für " + "Jürgen " * 12
    words = encoded(subject).split()
    assert len(words) > 1
    assert all(word.isascii() and len(word) <= LONGEST_WORD for word in words)
    assert str(make_header(decode_header(" ".join(words)))) == subject


def test_text_that_only_looks_encoded_is_read_back_as_it_was_written():
    subject = "=?utf-8?q?Hello?="
    assert str(make_header(decode_header(encoded(subject)))) == subject
    assert encoded("Your kit") == "Your kit"


def test_an_address_goes_out_with_the_ascii_form_of_its_domain():
    assert with_name("Jürgen", "j@größe.example").endswith(" <j@xn--gre-6ka8i.example>")
