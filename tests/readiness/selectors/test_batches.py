"""A drop of files: the worst first, each with its one next action."""

from __future__ import annotations

import pytest

from readiness.actions.upload import store_upload
from readiness.selectors.batches import asking_captures, progress_of, row_of, worst_first
from tests.factories import complete_kit
from tests.readiness.captures import INTERMITTENT_B, capture_bytes, capture_file
from tests.readiness.drops import wait

pytestmark = pytest.mark.django_db


def test_a_drop_lists_the_worst_first_each_with_its_words_and_its_act():
    code = complete_kit(cleared=False).code
    upload = store_upload(
        [
            capture_file("junk.csv", b"junk"),
            capture_file("sound.csv", capture_bytes("still", kit=code)),
            capture_file("unknown.csv", capture_bytes("still", seed=8, drop=("kit",))),
            capture_file("bad.csv", capture_bytes("flex", kit=code, faults=INTERMITTENT_B)),
        ]
    )
    rows = {row.capture.name: row for row in map(row_of, worst_first(upload.captures.all()))}
    assert list(rows) == ["bad.csv", "unknown.csv", "junk.csv", "sound.csv"]
    labels = [row.step.label for row in rows.values()]
    assert labels[1:] == ["Answer", "Record it again", "See the kit"]
    assert "lead B" in labels[0]
    assert [row.mark.word for row in rows.values()][::3] == ["not fit", "fit"]
    assert "which kit" in rows["unknown.csv"].words

    progress = progress_of(upload)
    assert (progress.done, progress.total, progress.asking, progress.finished) == (4, 4, 1, True)
    assert [capture.name for capture in asking_captures(upload)] == ["unknown.csv"]
    wait(rows["sound.csv"].capture)
    assert not progress_of(upload).finished

    set_aside = upload.captures.get(name="bad.csv")
    set_aside.set_aside = "A chair was moved."
    assert row_of(set_aside).words == "Set aside: A chair was moved."
