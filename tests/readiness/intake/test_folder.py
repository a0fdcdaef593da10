"""A folder that is looked at again and again: whole files once, no half-written one."""

from __future__ import annotations

import os

import pytest

from readiness.intake.folder import LOOKS, WatchedFolder


def saved(folder, name, text="1\n", at_s=1000):
    path = folder / name
    path.write_text(text)
    os.utime(path, (at_s, at_s))
    return path


def names(found):
    return [seen.path.name for seen in found]


def test_a_file_is_given_once_when_it_has_stood_still(tmp_path):
    watched = WatchedFolder(tmp_path)
    saved(tmp_path, "b.csv", at_s=1000)
    saved(tmp_path, "a.EDF", at_s=2000)
    for _ in range(LOOKS - 1):
        assert watched.look() == []
        assert watched.growing == ["a.EDF", "b.csv"]
    assert names(watched.look()) == ["b.csv", "a.EDF"]
    assert watched.look() == [] and watched.growing == []


def test_a_file_that_could_not_be_taken_is_given_again(tmp_path):
    watched = WatchedFolder(tmp_path)
    saved(tmp_path, "a.csv")
    for _ in range(LOOKS):
        given = watched.look()
    watched.give_again(given[0])
    assert watched.growing == []
    assert [names(watched.look()) for _ in range(LOOKS + 1)] == [[]] * (LOOKS - 1) + [["a.csv"], []]


def test_a_file_that_grows_waits_until_it_stands_still(tmp_path):
    watched = WatchedFolder(tmp_path)
    for look in range(2 * LOOKS):
        saved(tmp_path, "a.csv", "1\n" * (look + 1), at_s=1000 + look)
        assert watched.look() == []
    for _ in range(LOOKS - 2):
        assert watched.look() == []
    found = watched.look()
    assert names(found) == ["a.csv"]
    assert found[0].saved_at.timestamp() == 1000 + 2 * LOOKS - 1
    assert found[0].is_unchanged()
    saved(tmp_path, "a.csv", "other\n", at_s=5000)
    assert not found[0].is_unchanged()
    assert [names(watched.look()) for _ in range(LOOKS)] == [[], [], ["a.csv"]]


def test_only_capture_files_that_hold_something_are_looked_at(tmp_path):
    watched = WatchedFolder(tmp_path)
    for name in ("notes.docx", ".hidden.csv", "a.csv.part"):
        saved(tmp_path, name)
    saved(tmp_path, "empty.csv", "")
    (tmp_path / "folder.csv").mkdir()
    assert [watched.look() for _ in range(LOOKS + 1)] == [[]] * (LOOKS + 1)
    assert watched.growing == ["empty.csv"]


def test_a_folder_that_is_gone_is_an_error(tmp_path):
    with pytest.raises(OSError):
        WatchedFolder(tmp_path / "away").look()


def test_a_header_waits_for_its_signal_file_and_both_are_given_as_one(tmp_path):
    watched = WatchedFolder(tmp_path)
    saved(tmp_path, "rec.hea")
    saved(tmp_path, "alone.dat")
    for _ in range(LOOKS):
        assert watched.look() == []
    saved(tmp_path, "rec.DAT", "12345", at_s=2000)
    found = [seen for _ in range(LOOKS) for seen in watched.look()]
    assert names(found) == ["rec.hea"]
    assert found[0].signal == tmp_path / "rec.DAT"
    assert (found[0].size, found[0].saved_ns) == (7, 2000 * 10**9)
    assert found[0].is_unchanged()
    saved(tmp_path, "rec.DAT", "1234567", at_s=2000)
    assert not found[0].is_unchanged()
