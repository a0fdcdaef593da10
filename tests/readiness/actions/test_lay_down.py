"""The bytes of a drop are weighed, hashed and stored before anything is written of them."""

import hashlib

import pytest
from django.core.files.storage import default_storage

from readiness.actions.lay_down import laid_drop, shown_name
from readiness.actions.upload import store_upload
from tests.readiness.captures import capture_file

pytestmark = pytest.mark.django_db


def test_only_bytes_that_are_new_and_can_be_taken_are_stored():
    known = store_upload([capture_file("a.csv", b"known")]).captures.get()
    contents = {"a.csv": b"known", "b.csv": b"new", "c.csv": b"new", "d.csv": b""}
    with laid_drop([capture_file(*facts) for facts in contents.items()]) as drop:
        assert [file.name for file in drop] == list(contents)
        assert [file.digest for file in drop[:3]] == [
            hashlib.sha256(content).hexdigest() for content in (b"known", b"new", b"new")
        ]
        assert "empty" in drop[3].away
        [laid] = [file.laid for file in drop if file.laid]
        with default_storage.open(laid.name) as kept:
            assert kept.read() == b"new"
    assert list(default_storage.names()) == [known.file.name]


@pytest.mark.parametrize(
    ("given", "shown"),
    [
        ("C:\\captures\\a.csv", "a.csv"),
        ("a\x00b\n.csv", "a?b?.csv"),
        ("", "without a name"),
        (None, "without a name"),
        ("x" * 300, "x" * 255),
    ],
)
def test_names_are_shown_without_folders_and_control_characters(given, shown):
    assert shown_name(given) == shown
