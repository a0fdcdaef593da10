"""What could not be sent is refused beside its field."""

from __future__ import annotations

import pytest

from rentals.errors import Refused
from rentals.post.checking import check_letter

LETTER = {
    "to_name": "Ada",
    "to_address": "ada@strings.example",
    "subject": "Your kit",
    "text": "Dear Ada",
}


@pytest.mark.parametrize(
    ("changes", "field", "sentence"),
    [
        ({"to_address": "ada"}, "to_address", "@"),
        ({"to_address": ""}, "to_address", "address"),
        ({"to_name": "Ada\nBcc: all@strings.example"}, "to_name", "The name holds a line break"),
        ({"subject": "Your\x7fkit"}, "subject", "another control character"),
        ({"subject": "  "}, "subject", "Give the mail a subject"),
        ({"text": " \n "}, "body_text", "Write something"),
    ],
)
def test_what_cannot_be_sent_is_refused_beside_its_field(changes, field, sentence):
    with pytest.raises(Refused, match=sentence) as refusal:
        check_letter(**LETTER | changes)
    assert refusal.value.field == field


def test_a_letter_that_can_go_passes():
    check_letter(**LETTER | {"to_name": "", "text": "Dear Ada,\n\nhello"})
