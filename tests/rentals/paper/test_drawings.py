"""Line drawings of parts, as path data."""

from __future__ import annotations

import pytest

from rentals.models import ContentsLine
from rentals.paper.drawings import DRAWINGS, commands, paths_of


@pytest.mark.parametrize("kind", sorted(DRAWINGS))
def test_every_drawing_stays_in_its_box_and_begins_with_a_move(kind):
    for path in paths_of(kind):
        steps = list(commands(path))
        assert steps[0][0] == "M"
        assert all(0 <= number <= 100 for _, numbers in steps for number in numbers)


def test_whatever_a_contents_list_may_hold_is_drawn():
    choices = {value for value, _ in ContentsLine._meta.get_field("part_kind").choices}
    assert choices <= set(DRAWINGS)


def test_an_unknown_kind_is_drawn_as_a_parcel():
    assert paths_of("metronome") == DRAWINGS["other"]


@pytest.mark.parametrize(
    ("path", "fault"),
    [
        ("M1 2Q3 4 5 6", "more than M, L, C, Z"),
        ("1 2L3 4", "command letter was expected at token 0"),
        ("M1 2q3 4", "more than M, L, C, Z"),
        ("M1", "M needs 2 numbers"),
        ("M1 2L3", "L needs 2 numbers"),
        ("M1 L2 3", "M needs 2 numbers"),
    ],
)
def test_any_other_path_is_refused(path, fault):
    with pytest.raises(ValueError, match=fault):
        list(commands(path))
