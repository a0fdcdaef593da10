"""A backup each day: made once, rotated, warned of, and never at the cost of yesterday's."""

import errno
import os
import time
from datetime import datetime, timedelta
from pathlib import Path

import pytest
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from kitdesk.backups import daily
from kitdesk.backups.problems import NotPossible
from kitdesk.backups.whole_desk import Archive

pytestmark = pytest.mark.django_db
NOW = datetime(2027, 3, 10, 9, 30, tzinfo=timezone.get_default_timezone())


@pytest.fixture
def folder(settings, tmp_path, monkeypatch) -> Path:
    """The folder of backups; one is written by itself in no time, for no copy of a database can be
    made inside a test.
    """
    settings.KITDESK_BACKUPS = tmp_path / "backups"

    def write(target: Path, phrase: str) -> Archive:
        target.write_bytes(b"backup" + phrase.encode())
        return Archive(3, 6)

    monkeypatch.setattr(daily, "write_backup", write)
    return settings.KITDESK_BACKUPS


def _names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def _aged(file: Path, days: float) -> None:
    then = time.time() - days * 86400
    os.utime(file, (then, then))


def test_one_a_day_is_made_and_old_ones_go(folder, settings):
    for day in range(40):
        at = NOW + timedelta(day)
        assert daily.keep_daily_backup(at)
        assert daily.keep_daily_backup(at + timedelta(hours=5)) is None
    names = _names(folder)
    assert names[-1] == "kitdesk-2027-04-18.zip"
    assert len(names) == 7 + 4 + 1
    settings.KITDESK_BACKUP_PHRASE = "phrase"
    assert daily.keep_daily_backup(NOW + timedelta(40))
    assert "kitdesk-2027-04-19.sealed" in _names(folder)


def test_files_of_others_in_the_folder_are_left_alone(folder):
    folder.mkdir()
    (folder / "kitdesk-2020-01-01.zip.txt").write_text("mine")
    (folder / "photo.jpg").write_text("mine")
    daily.keep_daily_backup(NOW)
    assert {"kitdesk-2020-01-01.zip.txt", "photo.jpg"} < set(_names(folder))


def test_a_desk_that_makes_none_makes_none(settings):
    settings.KITDESK_BACKUPS = None
    assert daily.keep_daily_backup(NOW) is None
    assert daily.standing() is None
    assert daily.warning(timezone.now(), NOW) == ""


def test_a_full_disk_leaves_yesterdays_and_is_said_and_tried_again(folder, monkeypatch, caplog):
    daily.keep_daily_backup(NOW)
    tries = []

    def full(target: Path, phrase: str) -> Archive:
        tries.append(target)
        raise NotPossible(f"{target} cannot be written: {os.strerror(errno.ENOSPC)}.")

    with monkeypatch.context() as disk:
        disk.setattr(daily, "write_backup", full)
        tomorrow = NOW + timedelta(1)
        for minutes in (0, 1, 30, 59, 61):
            assert daily.keep_daily_backup(tomorrow + timedelta(minutes=minutes)) is None
    assert len(tries) == 2
    assert "kitdesk-2027-03-10.zip" in _names(folder)
    assert "No space left" in caplog.text
    assert "No space left" in daily.standing().failure
    assert daily.keep_daily_backup(NOW + timedelta(1, hours=3))
    assert daily.standing().failure == ""


def test_two_processes_do_not_write_at_once_and_a_dead_one_is_not_waited_for_for_ever(folder):
    folder.mkdir()
    lock = folder / ".at-work"
    lock.touch()
    assert daily.keep_daily_backup(NOW) is None
    _aged(lock, 1)
    assert daily.keep_daily_backup(NOW)
    assert not lock.exists()


def test_a_tick_makes_it(folder):
    call_command("tick", verbosity=0)
    assert len(_names(folder)) == 1
    assert daily.standing().last.day == timezone.localdate()


def test_the_owner_is_warned_on_today_and_nobody_else_or_elsewhere(folder, signed_in, owner):
    today = reverse("rentals:today")
    daily.keep_daily_backup()
    assert 'aria-label="Backups"' not in signed_in.get(today).content.decode()
    _aged(daily.standing().last.path, 3)
    page = signed_in.get(today).content.decode()
    assert "No backup was made for 3 days." in page
    assert reverse("backups") in page
    assert 'aria-label="Backups"' not in signed_in.get(reverse("rentals:kits")).content.decode()
    owner.is_superuser = False
    owner.save()
    assert 'aria-label="Backups"' not in signed_in.get(today).content.decode()


def test_a_new_desk_is_given_a_day_and_a_failed_check_is_said(folder):
    assert daily.warning(NOW, NOW - timedelta(hours=30)) == ""
    assert "for a day and a half" in daily.warning(NOW, NOW - timedelta(hours=40))
    daily.keep_daily_backup(NOW)
    daily.note_check("kitdesk-2027-03-10.zip", "verify failed: kit K0001X")
    assert "could not be put back" in daily.warning(NOW, NOW)
    daily.note_check("kitdesk-2027-03-10.zip", "")
    assert daily.standing().check.fault == ""


def test_the_page_shows_them_and_makes_one_more(folder, signed_in):
    empty = signed_in.get(reverse("backups")).content.decode()
    assert "There is no backup yet" in empty
    answer = signed_in.post(reverse("backup_now"), follow=True).content.decode()
    assert "The backup is written" in answer
    assert f"kitdesk-{timezone.localdate().isoformat()}.zip" in answer
    assert "None was tried yet" in answer


def test_the_page_says_why_none_could_be_made(folder, signed_in, monkeypatch):
    def full(target: Path, phrase: str) -> Archive:
        raise NotPossible("The disk is full.")

    monkeypatch.setattr(daily, "write_backup", full)
    answer = signed_in.post(reverse("backup_now"), follow=True).content.decode()
    assert "No backup was made. The disk is full." in answer


def test_only_the_owner_sees_and_makes_them(folder, owner, signed_in):
    owner.is_superuser = False
    owner.save()
    assert signed_in.get(reverse("backups")).status_code == 403
    assert signed_in.post(reverse("backup_now")).status_code == 403
    assert Client().get(reverse("backups")).status_code == 302


def test_a_clock_that_stood_a_year_ahead_holds_up_nothing(folder):
    ahead = NOW + timedelta(days=365)
    for day in range(8):
        assert daily.keep_daily_backup(ahead + timedelta(day))
    daily._note_failure(folder, ahead, "The disk is full.")
    (folder / ".at-work").touch()
    os.utime(folder / ".at-work", (ahead.timestamp(), ahead.timestamp()))
    assert daily.keep_daily_backup(NOW)
    assert "kitdesk-2027-03-10.zip" in _names(folder), "those of that year push it not out"
    assert daily.keep_daily_backup(NOW) is None
    for name in _names(folder):
        os.utime(folder / name, (ahead.timestamp(), ahead.timestamp()))
    assert daily.standing().is_late(NOW)
