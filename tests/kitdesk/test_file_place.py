"""What KITDESK_FILES may say, and the sentence for what it may not."""

from pathlib import Path

import pytest

from kitdesk import dispatch
from kitdesk.file_place import WrongPlace, file_place

pytestmark = pytest.mark.any_database


def test_a_full_path_is_a_folder():
    place = file_place("/srv/kitdesk files")
    assert place.folder == Path("/srv/kitdesk files")
    assert place.backend["BACKEND"].endswith("WholeFileStorage")


def test_an_address_names_bucket_folder_and_store():
    words = "s3://kits/desk/one?endpoint=https://store.example.org:9000&region=eu-1&timeout=2"
    assert file_place(words).options == {
        "bucket_name": "kits",
        "location": "desk/one",
        "endpoint_url": "https://store.example.org:9000",
        "region_name": "eu-1",
        "object_parameters": {},
        "timeout_s": 2.0,
    }


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        ("media", "give the full path of a folder"),
        ("https://store.example.org/kits", "give the full path of a folder"),
        ("s3:///desk", "names no bucket"),
        ("s3://key:secret@kits", "Keys come from AWS_ACCESS_KEY_ID"),
        ("s3://kits?endpiont=https://store", "says 'endpiont'; it knows endpoint"),
        ("s3://kits?endpoint=store.example.org", "begins with https://"),
        ("s3://kits?encryption=rot13", "is one of AES256, aws:kms"),
        ("s3://kits?timeout=soon", "number of seconds"),
        ("s3://kits?timeout=0", "number of seconds"),
    ],
)
def test_what_is_no_place_is_refused_in_a_sentence(words, sentence):
    with pytest.raises(WrongPlace, match=sentence):
        file_place(words)


def test_a_command_says_so_before_anything_else(monkeypatch, capsys, tmp_path):
    monkeypatch.setenv("KITDESK_VAR", str(tmp_path))
    monkeypatch.setenv("KITDESK_FILES", "s3://")
    assert dispatch.run(["manage.py", "prepare"]) == 1
    assert capsys.readouterr().err.startswith("KITDESK_FILES names no bucket")
