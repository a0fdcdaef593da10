"""Wording: names in braces and nothing else."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rentals.errors import Refused
from rentals.post.wording import Wording, check_wording, fill


@pytest.mark.parametrize(
    ("subject", "text", "field"),
    [
        ("Kit {kitt}", "x", "subject"),
        ("Kit", "{student.name}", "text"),
        ("Kit", "{0}", "text"),
        ("Kit", "{student!r}", "text"),
        ("Kit", "{{student}}", "text"),
        ("Kit", "{student", "text"),
        ("Kit", "%} {", "text"),
        ("Kit\nBcc: x@evil.example", "x", "subject"),
        ("  ", "x", "subject"),
        ("Kit", " \n ", "text"),
    ],
)
def test_what_cannot_be_used_is_refused_beside_its_field(subject, text, field):
    with pytest.raises(Refused) as refused:
        check_wording(Wording(subject, text))
    assert refused.value.field == field


def test_a_line_whose_names_stand_for_nothing_is_left_out():
    wording = Wording(
        "Kit", "Hello\n\nCarrier: {carrier}\nNumber: {tracking}\n\nBye {carrier}{student}"
    )
    assert fill(wording, {"student": "Ada"}).text == "Hello\n\nBye Ada"
    assert "Number: RR1" in fill(wording, {"tracking": "RR1"}).text


@given(st.text(max_size=60))
def test_a_value_is_never_looked_at_again(name):
    said = fill(Wording("Kit", "Hello {student}!"), {"student": name, "kit": "SECRET"})
    assert "SECRET" not in said.text or "SECRET" in name


def test_a_name_with_braces_stays_a_name():
    said = fill(Wording("{student}", "{student}"), {"student": "{kit} {0}", "kit": "K0001"})
    assert said == Wording("{kit} {0}", "{kit} {0}")
