"""Files from the folder into a store and back: compared, repeated, never taken away too early."""

from io import StringIO

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command

from kitdesk.file_move import storage_at
from kitdesk.file_place import file_place
from readiness.actions.upload import store_upload
from readiness.models import Capture
from tests.readiness.captures import capture_file

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]


def move(**options: object) -> str:
    out = StringIO()
    call_command("move_files", stdout=out, **options)
    return out.getvalue()


def test_files_go_into_a_store_and_leave_the_folder_when_told(
    store, keep_files_at, settings, monkeypatch
):
    store_upload([capture_file(f"{n}.csv", b"%d,2\n3,4\n" % n) for n in (1, 2, 3)])
    first, second, third = (str(name) for name in default_storage.names())
    folder, place = str(settings.MEDIA_ROOT), store.address()
    for name, value in store.keys.items():
        monkeypatch.setenv(name, value)
    there = storage_at(file_place(place))
    assert "3 files copied, 0 there already." in move(target=place)
    # Broken off, and changed meanwhile: what lacks or differs comes again.
    there.delete(first)
    default_storage.put(second, ContentFile(b"x,2\n3,4\n"))
    assert "2 files copied, 1 there already." in move(target=place)
    with pytest.raises(CommandError, match="does not keep its files there yet"):
        move(target=place, delete=True)
    keep_files_at(place)
    # Erased since: its photo or capture must not come back.
    Capture.objects.filter(file=third).delete()
    default_storage.delete(third)
    default_storage.put(second, ContentFile(b"y,2\n3,4\n"))
    told = move(source=folder, delete=True)
    assert "0 files copied, 2 there already." in told
    assert "1 file is named by no row any more, so not copied." in told
    assert "3 files taken away" in told
    assert list(storage_at(file_place(folder)).names()) == []
    assert sorted(default_storage.names()) == sorted([first, second])
    with default_storage.open(second) as file:
        assert file.read() == b"y,2\n3,4\n"


def test_a_file_that_lacks_on_both_sides_keeps_the_old_place_whole(store, keep_files_at, settings):
    store_upload([capture_file(f"{n}.csv", b"%d,2\n3,4\n" % n) for n in (1, 2)])
    first, second = (str(name) for name in default_storage.names())
    default_storage.delete(first)
    folder = str(settings.MEDIA_ROOT)
    keep_files_at(store.address())
    with pytest.raises(
        CommandError, match=f"1 file that rows name lack there, for example {first}"
    ):
        move(source=folder, delete=True)
    assert list(storage_at(file_place(folder)).names()) == [second]
    assert list(default_storage.names()) == [second]


def test_what_names_no_other_place_is_refused():
    with pytest.raises(CommandError, match="Name another with --to"):
        move()
    with pytest.raises(CommandError, match="names no bucket"):
        move(target="s3://")
