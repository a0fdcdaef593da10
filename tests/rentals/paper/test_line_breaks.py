import pytest

from rentals.paper.line_breaks import pieces

pytestmark = pytest.mark.any_database


@pytest.mark.parametrize(
    ("word", "parts"),
    [
        ("abc", ["a", "b", "c"]),
        ("ที่นี่", ["ที่", "นี่"]),
        ("เดินน้ำ", ["เดิ", "น", "น้ำ"]),
        ("क्षत्रिय", ["क्ष", "त्रि", "य"]),
        ("e\u0301a", ["e\u0301", "a"]),
        ("", []),
    ],
)
def test_marks_and_joined_letters_stay_with_their_letter(word, parts):
    assert list(pieces(word)) == parts
