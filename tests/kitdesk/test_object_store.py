"""Files in a real S3 server: private, whole, and every fault of it in a sentence."""

import socket

import pytest
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command

from kitdesk.checks import store_problem, store_takes_files
from kitdesk.file_place import file_place
from kitdesk.store_words import sentence_for_answer
from rentals.store_away import StoreAway
from tests.object_store import BUCKET

pytestmark = pytest.mark.any_database


def test_files_are_kept_under_their_folder_and_given_back(store, keep_files_at):
    keep_files_at(store.address("one", encryption="AES256"))
    first = default_storage.save("damage/a.jpg", ContentFile(b"first"))
    second = default_storage.save("damage/a.jpg", ContentFile(bytes(3_000_000)))
    assert first == "damage/a.jpg" != second
    assert list(default_storage.names()) == sorted([first, second])
    assert default_storage.listdir("") == (["damage"], [])
    assert default_storage.size(second) == 3_000_000
    with default_storage.open(first) as file:
        assert file.read() == b"first"
    default_storage.put(first, ContentFile(b"second"))
    with default_storage.open(first) as file:
        assert file.read() == b"second"
    default_storage.delete(second)
    default_storage.delete(second)
    assert not default_storage.exists(second)
    with pytest.raises(FileNotFoundError, match="not in the store"):
        default_storage.open(second)
    with pytest.raises(FileNotFoundError):
        default_storage.size(second)


def test_no_file_can_be_had_past_kitdesk(store, keep_files_at):
    keep_files_at(store.address("two", encryption="AES256"))
    default_storage.save("damage/a.jpg", ContentFile(b"first"))
    client = store.client()
    held = client.head_object(Bucket=BUCKET, Key="two/damage/a.jpg")
    assert held["ServerSideEncryption"] == "AES256"
    grants = client.get_object_acl(Bucket=BUCKET, Key="two/damage/a.jpg")["Grants"]
    assert [grant["Grantee"]["Type"] for grant in grants] == ["CanonicalUser"]
    with pytest.raises(ValueError, match="own pages alone"):
        default_storage.url("damage/a.jpg")


def test_a_store_that_can_be_used_is_tried_out_without_a_trace(store, keep_files_at):
    keep_files_at(store.address("three"))
    assert store_problem() is None
    assert list(default_storage.names()) == []


def test_wrong_keys_and_a_bucket_that_is_not_there_are_named(store, keep_files_at, monkeypatch):
    keep_files_at(store.address().replace(BUCKET, "another-bucket"))
    assert store_problem() == (
        "The store of files has no bucket another-bucket. Make it, or correct its name in"
        " KITDESK_FILES."
    )
    monkeypatch.setenv("AWS_SECRET_ACCESS_KEY", "guessed")
    keep_files_at(store.address(), keys=False)
    with pytest.raises(CommandError, match="does not take the keys in AWS_ACCESS_KEY_ID"):
        call_command("prepare")
    assert [problem.id for problem in store_takes_files(None)] == ["kitdesk.E005"]


@pytest.mark.parametrize("listening", [True, False])
def test_a_store_that_is_slow_or_away_is_not_waited_for(listening, keep_files_at, monkeypatch):
    monkeypatch.setenv("AWS_ACCESS_KEY_ID", "desk")
    monkeypatch.setenv("AWS_SECRET_ACCESS_KEY", "desk")
    with socket.socket() as silent:
        silent.bind(("127.0.0.1", 0))
        if listening:
            silent.listen()
        endpoint = f"http://127.0.0.1:{silent.getsockname()[1]}"
        keep_files_at(f"s3://bucket?region=eu-1&timeout=0.1&endpoint={endpoint}", keys=False)
        for ask in (
            lambda: default_storage.open("a"),
            lambda: default_storage.exists("a"),
            lambda: default_storage.save("a", ContentFile(b"1")),
        ):
            with pytest.raises(StoreAway, match=f"at {endpoint} does not answer"):
                ask()


def test_what_a_store_refuses_for_reasons_of_its_own_is_passed_on():
    sentence = sentence_for_answer("SlowDown", "Reduce the rate.", bucket="b", place="here")
    assert sentence == (
        "The store of files at here refuses for now: SlowDown Reduce the rate. Try again in some"
        " minutes."
    )


def test_a_desk_with_a_folder_has_no_store_to_try_out():
    assert store_problem() is None
    assert file_place("").backend == {"BACKEND": "kitdesk.whole_files.WholeFileStorage"}
