"""``manage.py watch``: one pass over a folder says what it did with each file."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from readiness.actions.guided import begin_round
from readiness.management.commands import watch as command
from readiness.models import Capture
from tests.factories import complete_kit
from tests.readiness.captures import capture_bytes
from tests.readiness.rounds import saved_recordings

pytestmark = pytest.mark.django_db(transaction=True)


def watch(folder, **options):
    out = StringIO()
    call_command("watch", str(folder), once=True, every=0, stdout=out, **options)
    return out.getvalue().splitlines()


def test_one_pass_takes_what_is_whole_and_a_second_takes_nothing_twice(tmp_path):
    kit = complete_kit(cleared=False)
    (tmp_path / "a.csv").write_bytes(capture_bytes("still", kit=kit.code))
    (tmp_path / "empty.csv").touch()
    lines = watch(tmp_path)
    assert lines[0].startswith("a.csv: scored for kit ") and lines[0].endswith("still: fit.")
    assert lines[1:] == ["empty.csv: left, it is empty or still being written."]
    assert watch(tmp_path)[0] == "a.csv: taken before."
    assert Capture.objects.count() == 1
    assert (tmp_path / "a.csv").exists()


def test_a_file_that_finds_the_store_away_is_left_and_taken_later(tmp_path, keep_files_at, store):
    keep_files_at("s3://kits?region=eu-1&timeout=0.2&endpoint=http://127.0.0.1:9")
    kit = complete_kit(cleared=False)
    folder = tmp_path / "recordings"
    folder.mkdir()
    (folder / "a.csv").write_bytes(capture_bytes("still", kit=kit.code))
    (line,) = watch(folder)
    assert line.startswith("a.csv: left for now. The store of files at http://127.0.0.1:9 does not")
    assert not Capture.objects.exists()
    keep_files_at(store.address())
    assert "scored for kit" in watch(folder)[0]


def test_recordings_without_names_wait_at_the_round_at_hand(tmp_path, signed_in):
    kit = complete_kit(cleared=False)
    begin_round(kit)
    saved_recordings(tmp_path)
    for path in tmp_path.iterdir():
        path.touch()
    lines = watch(tmp_path)
    assert len(lines) == 3
    assert all("proposed to the round of kit" in line for line in lines)
    page = signed_in.get(f"/bench/kits/{kit.code}/round/").content.decode()
    assert "First by time." in page and "Confirm and score" in page


def test_a_file_that_grows_between_two_looks_is_left_for_the_next_pass(tmp_path, monkeypatch):
    half = tmp_path / "a.csv"
    half.write_bytes(b"# kit: half\n")

    def write_on(seconds):
        with half.open("ab") as stream:
            stream.write(b"1\n")

    monkeypatch.setattr(command.time, "sleep", write_on)
    assert watch(tmp_path) == ["a.csv: left, it is empty or still being written."]
    assert not Capture.objects.exists()


def test_what_is_no_folder_is_refused_with_its_name(tmp_path):
    assert watch(tmp_path) == ["No capture file is there."]
    with pytest.raises(CommandError, match="There is no folder"):
        watch(tmp_path / "away")
    with pytest.raises(CommandError, match="--every"):
        call_command("watch", str(tmp_path), every=-1)


def test_watching_goes_on_until_it_is_ended(tmp_path, monkeypatch):
    kit, out, looks = complete_kit(cleared=False), StringIO(), []

    def look_away(seconds):
        looks.append(seconds)
        if len(looks) == 2:
            (tmp_path / "a.csv").write_bytes(capture_bytes("still", kit=kit.code))
        if len(looks) == 4:
            tmp_path.rename(tmp_path.with_name("moved"))
        if len(looks) == 7:
            tmp_path.with_name("moved").rename(tmp_path)
        if len(looks) == 12:
            raise KeyboardInterrupt

    monkeypatch.setattr(command.time, "sleep", look_away)
    call_command("watch", str(tmp_path), stdout=out)
    lines = out.getvalue().splitlines()
    assert lines[0].startswith("Watching ") and lines[-1] == "Ended."
    assert sum("cannot be read: No such file" in line for line in lines) == 1
    assert sum("a.csv: scored for kit" in line for line in lines) == 1
    assert looks == [1.0] * 12
