"""A file of a watched folder is taken once, to its kit or to the round at hand."""

from __future__ import annotations

import os
from datetime import timedelta

import numpy as np
import pytest
from django.utils import timezone

from readiness.actions.guided import begin_round
from readiness.actions.take_file import take_file
from readiness.intake.folder import LOOKS, SeenFile, WatchedFolder
from readiness.models import Capture, Upload
from readiness.selectors.guided import guided_page
from rentals.codes import grouped
from tests.factories import complete_kit
from tests.readiness.captures import capture_bytes

pytestmark = pytest.mark.django_db


@pytest.fixture
def kit():
    return complete_kit(cleared=False)


def seen(folder, name, data, saved_at=None):
    path = folder / name
    path.write_bytes(data)
    if saved_at is not None:
        os.utime(path, (saved_at.timestamp(), saved_at.timestamp()))
    facts = path.stat()
    return SeenFile(path, facts.st_size, facts.st_mtime_ns)


def unnamed(test="still", **facts):
    return capture_bytes(test, drop=("kit", "test"), **facts)


def test_a_named_file_goes_straight_to_its_kit_also_while_another_is_at_hand(kit, tmp_path):
    begin_round(complete_kit(cleared=False))
    by_header = seen(tmp_path, "a.csv", capture_bytes("still", kit=kit.code))
    by_name = seen(tmp_path, f"{kit.code} lift.csv", unnamed("lift"))
    assert take_file(by_header).endswith(", still: fit.")
    assert take_file(by_name).endswith(", lift: fit.")
    assert kit.captures.filter(status="scored").count() == 2


def test_an_unnamed_file_is_proposed_to_the_round_that_was_open_when_it_was_saved(
    kit, tmp_path, owner
):
    now = timezone.now()
    begin_round(kit, actor=owner, at=now - timedelta(minutes=5))
    old = seen(tmp_path, "old.csv", unnamed(seed=7), now - timedelta(minutes=30))
    assert take_file(old).startswith("kept, and asks on the Bench page.")
    files = [
        seen(tmp_path, "b.csv", unnamed("still"), now - timedelta(minutes=4)),
        seen(tmp_path, "a.csv", unnamed("flex"), now - timedelta(minutes=3)),
    ]
    for file in files:
        sentence = take_file(file)
        assert sentence.startswith("proposed to the round of kit")
        assert sentence.endswith(f"/bench/kits/{kit.code}/round/")
    proposals = guided_page(kit).proposals
    assert [(each.file.name, each.test) for each in proposals] == [
        ("b.csv", "still"),
        ("a.csv", "flex"),
    ]
    assert Capture.objects.get(name="a.csv").upload.by == owner


def test_no_file_is_taken_twice_nor_changed(kit, tmp_path):
    first = seen(tmp_path, "a.csv", capture_bytes("still", kit=kit.code))
    take_file(first)
    assert take_file(first) == "taken before."
    copy = seen(tmp_path, "copy.csv", first.path.read_bytes())
    assert "These are the same bytes as a.csv" in take_file(copy)
    assert Upload.objects.count() == Capture.objects.count() == 1
    assert sorted(path.name for path in tmp_path.glob("*.csv")) == ["a.csv", "copy.csv"]
    assert first.is_unchanged()


def test_what_cannot_be_taken_says_why(tmp_path, settings):
    junk = seen(tmp_path, "junk.csv", b"junk")
    assert take_file(junk).startswith("kept, and not readable.")
    assert take_file(junk) == "taken before."
    grown = seen(tmp_path, "b.csv", b"1\n")
    grown.path.write_bytes(b"1\n2\n")
    assert "it changed while it was read" in take_file(grown)
    grown.path.unlink()
    assert "left: it cannot be read" in take_file(grown)
    settings.KITDESK_CAPTURE_MAX_BYTES = 10
    large = seen(tmp_path, "large.csv", b"0" * 11)
    assert take_file(large).startswith("left. The file has")
    assert Upload.objects.count() == 1


def test_a_header_and_its_signal_file_are_one_capture_taken_once(kit, tmp_path):
    name = f"{kit.code} still"
    codes = np.random.default_rng(1).integers(-90, 90, 3000).astype("<i2").tobytes()
    (tmp_path / f"{name}.dat").write_bytes(codes)
    head = "rec 1 300 3000\nrec.dat 16 100(0)/uV 16 0 0 0 0 EMG\n"
    (tmp_path / f"{name}.hea").write_text(head)
    watched = WatchedFolder(tmp_path)
    (pair,) = [found for _ in range(LOOKS) for found in watched.look()]
    assert take_file(pair).startswith(f"scored for kit {grouped(kit.code)}, still")
    assert Capture.objects.get().name == f"{name}.wfdb.zip"
    assert take_file(pair) == "taken before."
