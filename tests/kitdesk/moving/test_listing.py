"""The folder of a desk that moves, held against its manifest."""

import hashlib
import json
from pathlib import Path

import pytest

from kitdesk.backups.problems import NotPossible
from kitdesk.moving.listing import Listing, checked_listing

pytestmark = pytest.mark.any_database


@pytest.fixture
def folder(tmp_path) -> Path:
    folder = tmp_path / "house"
    listing = Listing(folder)
    for name in ("rows/a.jsonl", "files/captures/b.csv", "README.md"):
        with listing.writing(name) as file:
            file.write(b"first ")
            file.write(name.encode())
    listing.close({"made": "today"})
    return folder


def _everything(folder: Path) -> list[Path]:
    return sorted(folder.rglob("*"))


def test_what_was_written_is_listed_and_nobody_else_may_read_it(folder):
    about, files = checked_listing(folder)
    assert about["made"] == "today"
    assert sorted(files) == ["README.md", "files/captures/b.csv", "rows/a.jsonl"]
    assert files["rows/a.jsonl"].size == len("first rows/a.jsonl")
    modes = {path.is_dir(): path.stat().st_mode & 0o777 for path in _everything(folder)}
    assert modes == {True: 0o700, False: 0o600}


def test_one_byte_changed_in_any_file_is_told_by_its_name(folder):
    for path in [path for path in _everything(folder) if path.is_file()]:
        content = path.read_bytes()
        middle = len(content) // 2
        flipped = bytes([content[middle] ^ 1])
        path.write_bytes(content[:middle] + flipped + content[middle + 1 :])
        with pytest.raises(NotPossible, match="changed or damaged") as refusal:
            checked_listing(folder)
        changed = path.relative_to(folder).as_posix().replace(".sha256", ".json")
        assert repr(changed) in str(refusal.value)
        path.write_bytes(content)
    checked_listing(folder)


def test_a_file_that_lacks_or_is_too_many_is_named(folder):
    (folder / "erased.json").write_text("{}")
    checked_listing(folder)
    (folder / "rows" / "more.jsonl").write_text("[]")
    with pytest.raises(NotPossible, match=r"does not list: 'rows/more.jsonl'"):
        checked_listing(folder)
    (folder / "rows" / "more.jsonl").unlink()
    (folder / "rows" / "a.jsonl").unlink()
    with pytest.raises(NotPossible, match=r"lacks 'rows/a.jsonl'"):
        checked_listing(folder)


@pytest.mark.parametrize(
    ("about", "words"),
    [
        ([], "a form that this Kitdesk does not read"),
        ({"kitdesk_export": 2, "files": {}}, "a form that this Kitdesk does not read"),
        ({"kitdesk_export": 1, "files": {"a": [1]}}, "lists no files"),
    ],
)
def test_another_kind_of_manifest_is_refused(tmp_path, monkeypatch, about, words):
    listing = Listing(tmp_path)
    monkeypatch.setattr(json, "dumps", lambda *args, **more: json.JSONEncoder().encode(about))
    listing.close({})
    with pytest.raises(NotPossible, match=words):
        checked_listing(tmp_path)


def test_a_folder_without_a_manifest_is_no_export(tmp_path):
    with pytest.raises(NotPossible, match=r"manifest\.json is missing"):
        checked_listing(tmp_path / "nowhere")


def test_what_leads_out_of_the_folder_is_no_file_of_it(folder, tmp_path):
    secret = tmp_path / "secret"
    (folder / "rows" / "a.jsonl").rename(secret)
    (folder / "rows" / "a.jsonl").symlink_to(secret)
    with pytest.raises(NotPossible, match=r"'rows/a.jsonl' is no file but leads elsewhere"):
        checked_listing(folder)


@pytest.mark.parametrize("content", [b"{", b"[" * 100_000, b"\xff"])
def test_a_manifest_that_no_export_writes_is_refused(folder, content):
    (folder / "manifest.json").write_bytes(content)
    seal = f"{hashlib.sha256(content).hexdigest()}  manifest.json\n"
    (folder / "manifest.sha256").write_text(seal)
    with pytest.raises(NotPossible, match="a form that this Kitdesk does not read"):
        checked_listing(folder)
