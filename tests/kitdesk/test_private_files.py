"""No other account of the machine reads what the desk keeps."""

import os
import sqlite3
from pathlib import Path

import pytest
from django.core.checks import run_checks

from kitdesk import private_files

pytestmark = pytest.mark.any_database


@pytest.fixture
def desk(tmp_path, settings) -> Path:
    """A data folder that everybody may read, with its outbox and backups outside of it."""
    settings.VAR = tmp_path / "var"
    settings.MEDIA_ROOT = settings.VAR / "media"
    settings.KITDESK_ERASURES = settings.VAR / "erasures"
    settings.KITDESK_OUTBOX = tmp_path / "outbox"
    settings.KITDESK_BACKUPS = tmp_path / "disk"
    for name in (
        "var/secret.key",
        "var/kitdesk.sqlite3",
        "var/kitdesk.sqlite3-wal",
        "var/media/captures/a.csv",
        "var/erasures/erased.json",
        "outbox/a.eml",
        "disk/kitdesk-2026-03-04.zip",
        "disk/erased.json",
        "disk/holiday.jpg",
    ):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.parent.chmod(0o755)
        path.touch()
        path.chmod(0o644)
    for folder in (settings.VAR, settings.MEDIA_ROOT):
        folder.chmod(0o755)
    return tmp_path


def _readable(root: Path) -> set[str]:
    return {
        path.relative_to(root).as_posix() for path in root.rglob("*") if path.stat().st_mode & 0o077
    }


def test_what_others_could_read_is_named_and_then_closed(desk):
    [problem] = [found for found in run_checks() if found.id == "kitdesk.W003"]
    assert str(desk / "var") in problem.msg and "and 6 more" in problem.msg
    private_files.make_private()
    # A folder of backups may hold what is not the desk's.
    assert _readable(desk) == {"disk", "disk/holiday.jpg"}
    assert (desk / "var" / "media").stat().st_mode & 0o777 == 0o700
    assert (desk / "var" / "secret.key").stat().st_mode & 0o777 == 0o600
    assert [found for found in run_checks() if found.id == "kitdesk.W003"] == []


def test_what_is_written_from_now_on_is_closed(desk):
    before = os.umask(0o022)
    try:
        private_files.write_for_oneself_only()
        file = desk / "var" / "new" / "desk.sqlite3"
        file.parent.mkdir()
        with sqlite3.connect(file) as database:
            database.execute("PRAGMA journal_mode=WAL")
            database.execute("CREATE TABLE kit (code)")
            written = {path.name for path in file.parent.iterdir()}
            assert written == {"desk.sqlite3", "desk.sqlite3-wal", "desk.sqlite3-shm"}
            assert _readable(file.parent) == set()
        database.close()
    finally:
        os.umask(before)
    assert file.parent.stat().st_mode & 0o777 == 0o700


def test_a_link_out_of_the_folder_is_not_followed(desk):
    (desk / "var" / "elsewhere").symlink_to(desk / "disk" / "holiday.jpg")
    private_files.make_private()
    assert (desk / "disk" / "holiday.jpg").stat().st_mode & 0o777 == 0o644
