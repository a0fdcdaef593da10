"""Places in words."""

from __future__ import annotations

import numpy as np
import pytest

from readiness.signal.integrity.places import places


@pytest.mark.parametrize(
    ("count", "words"),
    [
        (1, "at 0 s"),
        (5, "at 0 s, 1 s, 2 s, 3 s, 4 s"),
        (6, "at 0 s, 1 s, 2 s, 3 s, 4 s and 1 more place"),
        (9, "at 0 s, 1 s, 2 s, 3 s, 4 s and 4 more places"),
    ],
)
def test_five_places_are_named_and_the_others_counted(count, words):
    assert places(np.arange(count) * 500, 500.0) == words
