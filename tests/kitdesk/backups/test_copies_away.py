"""Backups once more in a store: brought, rotated there, and told of where they lack."""

from datetime import datetime, timedelta
from pathlib import Path

import pytest
from django.urls import reverse
from django.utils import timezone

from kitdesk.backups import daily
from kitdesk.backups.whole_desk import Archive
from kitdesk.file_place import WrongPlace, copies_place
from tests.object_store import BUCKET

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
NOW = datetime(2027, 3, 10, 9, 30, tzinfo=timezone.get_default_timezone())


@pytest.fixture
def folder(settings, tmp_path, monkeypatch, store) -> Path:
    """The folder of backups, each of which is written in no time; copies go to a bucket."""
    settings.KITDESK_BACKUPS = tmp_path / "backups"
    for name, value in store.keys.items():
        monkeypatch.setenv(name, value)
    place = copies_place(store.address("copies" + tmp_path.name))
    settings.STORAGES = {**settings.STORAGES, "backups": place.backend}

    def write(target: Path, phrase: str) -> Archive:
        target.write_bytes(f"backup {target.name}".encode())
        return Archive(3, 6)

    monkeypatch.setattr(daily, "write_backup", write)
    return settings.KITDESK_BACKUPS


def _brought(store, folder: Path) -> dict[str, bytes]:
    client, prefix = store.client(), f"copies{folder.parent.name}/"
    listed = client.list_objects_v2(Bucket=BUCKET, Prefix=prefix).get("Contents", ())
    keys = [entry["Key"] for entry in listed]
    return {
        key.removeprefix(prefix): client.get_object(Bucket=BUCKET, Key=key)["Body"].read()
        for key in keys
    }


def test_each_backup_goes_there_once_and_is_rotated_there(folder, store, monkeypatch):
    for day in range(10):
        daily.keep_daily_backup(NOW + timedelta(day))
    (folder / "erased.json").write_text("{}")
    here = {path.name for path in folder.glob("kitdesk-*")}
    there = _brought(store, folder)
    assert set(there) == here and "kitdesk-2027-03-10.zip" not in here
    assert there["kitdesk-2027-03-19.zip"] == b"backup kitdesk-2027-03-19.zip.new"
    # What is lost here stays there; what is made anew here replaces it there.
    for path in folder.glob("kitdesk-*"):
        path.unlink()
    later = NOW + timedelta(10)
    daily.keep_daily_backup(later)
    assert set(_brought(store, folder)) - here == {"kitdesk-2027-03-20.zip", "erased.json"}
    newest = folder / "kitdesk-2027-03-20.zip"
    newest.write_bytes(b"made anew by hand")
    daily.keep_daily_backup(later + timedelta(minutes=1))
    assert _brought(store, folder)[newest.name] == b"made anew by hand"
    # Nothing is asked of the store where nothing is new.
    monkeypatch.setattr("kitdesk.backups.copies_away.storages", None)
    daily.keep_daily_backup(later + timedelta(minutes=2))


def test_what_the_store_refuses_is_told_and_brought_again(
    folder, store, settings, signed_in, monkeypatch
):
    good = settings.STORAGES
    wrong = copies_place(store.address("copies").replace(BUCKET, "another-bucket"))
    settings.STORAGES = {**good, "backups": wrong.backend}
    now = timezone.now()
    daily.keep_daily_backup(now)
    words = "not in the store: The store of files has no bucket another-bucket"
    assert words in daily.warning(now, now)
    assert "KITDESK_BACKUPS_S3" in daily.warning(now, now)
    assert daily.standing().last is not None
    page = signed_in.get(reverse("backups")).content.decode()
    assert "lacks the last backup" in page and "another-bucket/copies" in page
    assert words in signed_in.get(reverse("rentals:today")).content.decode()
    settings.STORAGES = good
    daily.keep_daily_backup(now + timedelta(minutes=10))
    assert _brought(store, folder) == {}
    daily.keep_daily_backup(now + timedelta(minutes=61))
    # All that there is here: before midnight one of the next day too.
    here = {path.name for path in folder.glob("kitdesk-*")}
    assert set(_brought(store, folder)) == here != set()
    assert daily.warning(now, now) == ""
    assert "was brought to" in signed_in.get(reverse("backups")).content.decode()


@pytest.mark.parametrize("words", ["/srv/copies", "s3://key@bucket/x", "ftp://x"])
def test_another_place_than_a_bucket_is_refused_by_the_name_of_the_setting(words):
    with pytest.raises(WrongPlace, match="KITDESK_BACKUPS_S3"):
        copies_place(words)
