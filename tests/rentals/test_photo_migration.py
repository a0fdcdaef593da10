"""The one photo that a line could have becomes its first."""

import hashlib
from importlib import import_module
from types import SimpleNamespace

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive
from rentals.models import LinePhoto
from tests.factories import packed_loan

MIGRATION = import_module("rentals.migrations.0013_photos_of_a_line")


class EarlierLines(list):
    """Return lines as they were, with the photo they had."""

    def exclude(self, **without: str) -> "EarlierLines":
        return self

    def select_related(self, *names: str) -> "EarlierLines":
        return self


@pytest.mark.django_db
def test_the_photo_that_a_line_had_is_its_first_even_where_its_file_is_gone():
    check = arrive(dispatch(packed_loan().kit).kit)
    name = default_storage.save("damage/old.jpg", ContentFile(b"jpeg"))
    there, gone = check.lines.all()[:2]
    for line, file in ((there, name), (gone, "damage/gone.jpg")):
        line.photo = LinePhoto(file=file).file
    models = {
        "LinePhoto": LinePhoto,
        "ReturnLine": SimpleNamespace(objects=EarlierLines([there, gone])),
    }
    MIGRATION.keep_photos(SimpleNamespace(get_model=lambda app, model: models[model]), None)
    first = there.packing_line.photos.get()
    assert (first.file.name, first.at) == (name, check.started_at)
    assert first.digest == hashlib.sha256(b"jpeg").hexdigest()
    assert gone.packing_line.photos.get().file.name == "damage/gone.jpg"
