"""Which files a student may send, told before a byte is read."""

import pytest

from readiness.intake.student_files import FORM_BYTES, MOST_BYTES, has_known_ending, is_too_large

pytestmark = pytest.mark.any_database


def test_a_request_is_turned_away_by_the_length_it_states():
    assert not is_too_large(MOST_BYTES + FORM_BYTES)
    assert is_too_large(MOST_BYTES + FORM_BYTES + 1)
    assert is_too_large(None)


@pytest.mark.parametrize(
    ("name", "known"), [("A.CSV", True), ("a.edf", True), ("a.csv.exe", False)]
)
def test_a_recording_is_known_by_the_end_of_its_name(name, known):
    assert has_known_ending(name) == known
