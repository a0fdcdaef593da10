"""A backup's own list of files, held against what the archive brings."""

import hashlib
import io
import shutil
import zipfile
from functools import partial

import pytest

from kitdesk.backups import manifest
from kitdesk.backups.manifest import PackedFile
from kitdesk.backups.problems import NotPossible

pytestmark = pytest.mark.any_database
CONTENT = b"t_s,emg\n0,1\n"


def _archive(**files: bytes) -> zipfile.ZipFile:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return zipfile.ZipFile(buffer)


def _of(content: bytes) -> PackedFile:
    return PackedFile(len(content), hashlib.sha256(content).hexdigest())


def test_what_is_packed_is_listed_and_unpacked_again(tmp_path):
    source = tmp_path / "a.csv"
    source.write_bytes(CONTENT)
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        packed = manifest.pack(archive, partial(source.open, "rb"), "media/a.csv")
        gone = partial((tmp_path / "gone.csv").open, "rb")
        assert manifest.pack(archive, gone, "media/gone.csv") is None
    assert packed == _of(CONTENT)
    files = manifest.from_json(manifest.as_json({"media/a.csv": packed}))
    with zipfile.ZipFile(buffer) as archive:
        manifest.check_names(archive, files, "media/a.csv")
        manifest.unpack(archive, files, tmp_path / "out")
    assert (tmp_path / "out" / "media" / "a.csv").read_bytes() == CONTENT


@pytest.mark.parametrize(
    "listed",
    [
        _of(b"something else"),
        PackedFile(len(CONTENT), "0" * 64),
        PackedFile(3, _of(CONTENT).digest),
    ],
)
def test_a_file_that_is_not_what_was_put_in_is_refused(tmp_path, listed):
    with pytest.raises(NotPossible, match="was changed or damaged"):
        manifest.unpack(_archive(a=CONTENT), {"a": listed}, tmp_path)


def test_a_file_never_grows_beyond_its_entry(tmp_path):
    bomb = _archive(a=bytes(30 * 1024 * 1024))
    with pytest.raises(NotPossible):
        manifest.unpack(bomb, {"a": PackedFile(1000, "0" * 64)}, tmp_path)
    assert (tmp_path / "a").stat().st_size <= 1024 * 1024


@pytest.mark.parametrize(
    ("held", "words"),
    [({"a": b"1"}, "lacks 'b'"), ({"a": b"1", "b": b"2", "c": b"3"}, "does not list: 'c'")],
)
def test_files_that_lack_or_are_too_many_are_named(held, words):
    archive = _archive(about=b"{}", **held)
    with pytest.raises(NotPossible, match=words):
        manifest.check_names(archive, {"a": _of(b"1"), "b": _of(b"2")}, "about")


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_file_twice_is_refused():
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr("a", b"1")
        archive.writestr("a", b"2")
    with pytest.raises(NotPossible, match="twice"):
        manifest.check_names(zipfile.ZipFile(buffer), {"a": _of(b"1")}, "about")


def test_a_full_disk_is_told_before_anything_is_unpacked(tmp_path, monkeypatch):
    monkeypatch.setattr(
        manifest.shutil, "disk_usage", lambda folder: shutil._ntuple_diskusage(0, 0, 150 * 2**20)
    )
    manifest.check_space({"a": PackedFile(40 * 2**20, "0" * 64)}, tmp_path)
    with pytest.raises(NotPossible, match="Make room there"):
        manifest.check_space({"a": PackedFile(60 * 2**20, "0" * 64)}, tmp_path)


@pytest.mark.parametrize(
    "listed", [None, [], {"a": [-1, "0" * 64]}, {"a": ["3", "0" * 64]}, {"a": [3, "0"]}]
)
def test_what_is_no_manifest_is_refused(listed):
    with pytest.raises((ValueError, TypeError)):
        manifest.from_json(listed)
