"""A person's words are found as people write them, and nothing else is."""

import pytest

from rentals.privacy.event_words import without_the_student
from rentals.privacy.sweeping import Person

pytestmark = pytest.mark.any_database
SOMEBODY = "a student who left"


@pytest.mark.parametrize(
    ("text", "swept"),
    [
        ("Back from Mia Lund.", f"Back from {SOMEBODY}."),
        ("MIA  LUND rang", f"{SOMEBODY} rang"),
        ("Lund, Mia: still", f"{SOMEBODY}: still"),
        ("X F 1990 Mia_Lund", f"X F 1990 {SOMEBODY}"),
        ("Mia Lundgren", "Mia Lundgren"),
        ("write to mia@x.example today", f"write to {SOMEBODY} today"),
        ("Miami", "Miami"),
    ],
)
def test_words_are_found_in_either_order_and_case_and_never_inside_of_others(text, swept):
    assert Person(["Mia Lund", "mia@x.example", ""]).swept(text) == swept


def test_names_in_scripts_without_spaces_are_found():
    assert Person(["李明"]).swept("收到李明的包裹") == f"收到{SOMEBODY}的包裹"
    assert Person(["李明"]).fragments() == [""]
    assert Person(["Zoë Müller"]).fragments() == ["ller"]


def test_texts_inside_of_lists_and_mappings():
    deep = {"rows": [{"Mia Lund": ["of Mia Lund", 3, None]}]}
    assert Person(["Mia Lund"]).swept_deep(deep) == {
        "rows": [{SOMEBODY: [f"of {SOMEBODY}", 3, None]}]
    }


@pytest.mark.parametrize("encoding", ["utf-8", "latin-1", "utf-16-le"])
def test_bytes_keep_their_length(encoding):
    data = "# subject: Zoë Müller\n1,2\n".encode(encoding)
    swept = Person(["Zoë Müller"]).swept_bytes(data)
    assert len(swept) == len(data)
    assert "Zoë Müller".encode(encoding) not in swept
    assert swept.endswith("\n1,2\n".encode(encoding))


def test_nobody_has_no_words():
    assert not Person(["", "abc"])
    assert Person([]).swept("Mia Lund") == "Mia Lund"
    assert Person([]).swept_bytes(b"Mia Lund") == b"Mia Lund"


@pytest.mark.parametrize(
    ("verb", "text", "words"),
    [
        ("arrived", "Back from Mia Lund.", f"Back from {SOMEBODY}."),
        ("noted", "She rang: in hospital", f"Noted on a loan to {SOMEBODY}."),
        ("shortfall", "Charger waived: she was ill", "Charger waived."),
        ("checked", "Return checked: 2 short.", "Return checked: 2 short."),
    ],
)
def test_events_of_a_loan_say_what_happened_and_not_to_whom(verb, text, words):
    assert without_the_student(verb, text) == words
