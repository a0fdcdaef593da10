"""Photos of a line: kept once, up to a number, removed with a trace."""

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from rentals.actions.dispatch import dispatch
from rentals.actions.line_photos import MOST_PHOTOS, laid_photos, remove_photo
from rentals.actions.receive import arrive, note_line
from rentals.errors import Refused
from rentals.models import Event, LinePhoto
from rentals.verify import verify
from tests.factories import packed_loan
from tests.rentals.photos import add_pictures

pytestmark = pytest.mark.django_db


def content_of(photo: LinePhoto) -> bytes:
    with photo.file.open("rb") as file:
        return file.read()


@pytest.fixture
def charger():
    check = arrive(dispatch(packed_loan().kit).kit)
    return check.loan.packing_lines.get(part_kind="charger")


def test_photos_are_added_once_and_written_into_the_history(charger):
    assert add_pictures(charger, b"one", b"two", b"one") == 2
    assert add_pictures(charger, b"two") == 0
    assert [content_of(photo) for photo in charger.photos.all()] == [b"one", b"two"]
    noted = Event.objects.filter(loan=charger.loan, verb="noted", text__contains="photo")
    texts = noted.values_list("text", flat=True)
    assert list(texts) == ["2 photos of Charger added."]
    assert verify() == []


def test_a_line_takes_so_many_photos_and_no_more(charger):
    add_pictures(charger, *(bytes([number]) for number in range(MOST_PHOTOS)))
    one_more = [ContentFile(b"one more", name="photo.jpg")]
    with (
        pytest.raises(Refused, match="has 8 photos; up to 8 are kept") as refusal,
        laid_photos(one_more) as photos,
    ):
        note_line(charger.return_line, "damaged", photo=photos[0])
    assert refusal.value.field == "photo"
    assert charger.photos.count() == MOST_PHOTOS


def test_a_removed_photo_is_gone_with_its_file_and_leaves_a_trace(
    charger, django_capture_on_commit_callbacks
):
    add_pictures(charger, b"one")
    photo = charger.photos.get()
    for _ in range(2):
        with django_capture_on_commit_callbacks(execute=True):
            remove_photo(photo)
    assert not LinePhoto.objects.exists()
    assert not default_storage.exists(photo.file.name)
    removed = Event.objects.filter(loan=charger.loan, text__endswith="removed.")
    assert removed.get().text.startswith("Photo of Charger of ")
    assert verify() == []
