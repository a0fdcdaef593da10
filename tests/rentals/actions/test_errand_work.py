"""What becomes of long work, however it ends."""

from __future__ import annotations

import pytest

from rentals.actions.errand_claims import (
    PIECE_BYTES,
    ErrandProgress,
)
from rentals.actions.errand_work import ErrandFile, ErrandResult
from rentals.errors import Refused
from rentals.models import Errand
from rentals.selectors.errands import pieces_of_file
from rentals.states import ErrandState
from tests.rentals.errands import asked, done

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("nobody_works")]


def test_the_end_says_what_came_of_it_and_keeps_the_file_whole(work_is):
    content = bytes(range(256)) * 10_000

    def work(errand: Errand, progress: ErrandProgress) -> ErrandResult:
        progress.begin(2, "halves")
        file = ErrandFile("a.bin", "application/octet-stream", [content, b"end"])
        return ErrandResult("Made.", named=[str(n) for n in range(250)], place="/b/", file=file)

    work_is(work)
    errand = done(asked())
    assert (errand.state, errand.said, errand.goes_to) == (ErrandState.DONE, "Made.", "/b/")
    assert (errand.done, errand.total, errand.file_name) == (2, 2, "a.bin")
    assert errand.named[-1] == "And 50 more." and errand.ended_at and errand.claimed_at is None
    assert b"".join(pieces_of_file(errand)) == content + b"end"
    assert max(len(piece.content) for piece in errand.pieces.all()) == PIECE_BYTES


def test_a_refusal_says_its_sentence_and_a_failure_where_to_look(work_is, caplog):
    def refuses(errand: Errand, progress: ErrandProgress) -> ErrandResult:
        raise Refused("There is nothing to check.")

    def fails(errand: Errand, progress: ErrandProgress) -> ErrandResult:
        raise ValueError("Ada Bow")

    work_is(refuses)
    assert done(asked()).problem == "There is nothing to check."
    assert "Errand" not in caplog.text
    work_is(fails)
    errand = done(asked())
    assert errand.state == ErrandState.FAILED and "Ada" not in errand.problem
    assert f"under errand {errand.pk}" in errand.problem
    assert f"Errand {errand.pk} (verify) failed" in caplog.text
