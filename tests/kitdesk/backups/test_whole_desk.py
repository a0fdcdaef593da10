"""A desk in one file, and back."""

import json
import os
import sqlite3
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from kitdesk.backups import sealing
from kitdesk.backups.problems import NotPossible
from kitdesk.backups.whole_desk import _opened
from tests.kitdesk.migrated import copy_template
from tests.object_store import BUCKET

ROOT = Path(__file__).resolve().parents[3]
CODE = "import sys; from kitdesk.dispatch import run; sys.exit(run(['manage.py', *sys.argv[1:]]))"
FILL = """
import django; django.setup()
from django.core.management import call_command
call_command("migrate", verbosity=0)
from kitdesk.owner import create_owner
create_owner("ada", "quiet-bow-arm-42", name="Ada Lind", practice="Quiet Hands")
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
default_storage.save("captures/a.csv", ContentFile(b"t_s,emg"))
from rentals.models import Student
Student.objects.create(name="Mia Lund", email="mia@strings.example")
Student.objects.create(name="Ben Field", email="ben@strings.example")
"""
# One program for all: starting it is what takes the time.
VERIFY_EACH = """
import io, json, sys
import django; django.setup()
from django.core.management import CommandError, call_command
told = []
for words in json.loads(sys.argv[1]):
    out, code = io.StringIO(), 0
    try:
        call_command("verify", *words, stdout=out)
    except CommandError:
        code = 1
    told.append({"said": out.getvalue(), "code": code})
print(json.dumps(told))
"""
ERASE = """
import django; django.setup()
from rentals.actions.erase import erase
from rentals.models import Student
erase(Student.objects.get(name="Mia Lund"))
"""


def _environment(var: Path, **more: str) -> dict[str, str]:
    kept = {name: os.environ[name] for name in ("PATH", "HOME", "SYSTEMROOT") if name in os.environ}
    return kept | more | {"KITDESK_VAR": str(var), "DJANGO_SETTINGS_MODULE": "kitdesk.settings"}


def _manage(var: Path, *words: object, **more: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", CODE, *map(str, words)],
        cwd=ROOT,
        env=_environment(var, **more),
        capture_output=True,
        text=True,
        check=False,
    )


def _python(var: Path, code: str, *words: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", code, *map(str, words)],
        cwd=ROOT,
        env=_environment(var),
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture(scope="module")
def desk(tmp_path_factory) -> Path:
    """The data folder of a small desk of its own."""
    var = tmp_path_factory.mktemp("desk") / "var"
    copy_template(var)
    subprocess.run([sys.executable, "-c", FILL], cwd=ROOT, env=_environment(var), check=True)
    return var


@pytest.fixture(scope="module")
def backup(desk) -> Path:
    file = desk.parent / "desk.zip"
    done = _manage(desk, "backup", file)
    assert done.returncode == 0, done.stderr
    assert "the database and 1 file," in done.stdout
    return file


def _owner(var: Path) -> list[tuple[str]]:
    with sqlite3.connect(var / "kitdesk.sqlite3") as database:
        return database.execute("SELECT username FROM auth_user").fetchall()


def _students(var: Path) -> list[tuple[str]]:
    with sqlite3.connect(var / "kitdesk.sqlite3") as database:
        return database.execute("SELECT name FROM rentals_student ORDER BY id").fetchall()


@pytest.mark.slow
def test_a_backup_makes_the_same_desk_elsewhere(desk, backup, tmp_path, store):
    other = tmp_path / "var"
    # Erased after the backup was made: it must not come back with it.
    subprocess.run([sys.executable, "-c", ERASE], cwd=ROOT, env=_environment(desk), check=True)
    # Its files go where the new desk keeps them: here into a store.
    place = {"KITDESK_FILES": store.address("restored"), **store.keys}
    done = _manage(other, "restore", backup, **place)
    assert done.returncode == 0, done.stderr
    assert b"Mia Lund" not in (desk / "kitdesk.sqlite3").read_bytes()
    assert "1 student erased since that backup" in done.stdout
    assert _students(other) == [("A student who left",), ("Ben Field",)]
    assert b"Mia Lund" not in (other / "kitdesk.sqlite3").read_bytes()
    assert _owner(other) == [("ada",)]
    # The log goes on from where the backup says, and only who has its key can tell that it is true.
    with zipfile.ZipFile(backup) as archive:
        head = json.loads(archive.read("about.json"))["log_head"]
        assert "log.key" not in archive.namelist()
    unknown = _manage(other, "verify")
    assert unknown.returncode == 1 and "another key than this desk has now" in unknown.stdout
    (other / "log.key").write_text((desk / "log.key").read_text())
    each = [["--head", "9999:abc"], ["--take-on-key", "--head", head]]
    told = _python(other, VERIFY_EACH, json.dumps(each))
    assert told.returncode == 0, told.stderr
    cut_off, taken_on = json.loads(told.stdout)
    assert "The end of the log was cut off: line 9999 was told" in cut_off["said"]
    assert taken_on["code"] == 0, taken_on
    held = store.client().get_object(Bucket=BUCKET, Key="restored/captures/a.csv")
    assert held["Body"].read() == b"t_s,emg"
    assert not (other / "media").exists()
    assert (other / "secret.key").read_text() == (desk / "secret.key").read_text()
    if os.name != "nt":
        assert backup.stat().st_mode & 0o077 == 0
        everything = [other, *other.rglob("*")]
        assert [path for path in everything if path.stat().st_mode & 0o077] == []


def test_neither_a_desk_in_use_nor_an_older_backup_is_overwritten(desk, backup):
    before = backup.read_bytes()
    done = _python(desk, REFUSED_EACH, backup)
    assert done.returncode == 0, done.stderr
    refusals = json.loads(done.stdout.splitlines()[-1])
    assert "This desk holds data already" in refusals["restore"]
    assert "exists already" in refusals["backup"]
    assert _owner(desk) == [("ada",)] and backup.read_bytes() == before


def _spoilt(kind: str, backup: Path, file: Path) -> None:
    """Write a backup with one fault to ``file``."""
    if kind == "text":
        file.write_text("no zip at all")
        return
    if kind == "cut":
        file.write_bytes(backup.read_bytes()[: backup.stat().st_size // 2])
        return
    with zipfile.ZipFile(backup) as good, zipfile.ZipFile(file, "w") as bad:
        for name in good.namelist():
            content = good.read(name)
            if kind == "newer" and name == "about.json":
                about = json.loads(content)
                content = json.dumps(
                    about | {"migrations": [*about["migrations"], "rentals.9999_later"]}
                ).encode()
            if kind == "deep" and name == "about.json":
                content = b"[" * 100_000
            if kind == "database" and name == "kitdesk.sqlite3":
                content = content[:4096] + b"\xff" * (len(content) - 4096)
            if kind == "altered" and name == "media/captures/a.csv":
                content = b"t_s,EMG"
            if kind == "lacking" and name == "media/captures/a.csv":
                continue
            if not (kind == "foreign" and name == "about.json"):
                bad.writestr(name, content)
        if kind == "added":
            bad.writestr("media/captures/b.csv", "x")
        if kind == "outside":
            bad.writestr("media/../../outside.txt", "x")


UNSOUND = {
    "text": "no backup of Kitdesk",
    "cut": "no backup of Kitdesk",
    "foreign": "no backup of Kitdesk",
    "deep": "no backup of Kitdesk",
    "newer": "made by a newer Kitdesk",
    "database": "was changed or damaged",
    "altered": "was changed or damaged",
    "lacking": "lacks 'media/captures/a.csv'",
    "added": "does not list: 'media/captures/b.csv'",
    "outside": "that no backup has",
    "absent": "No such file",
}
REFUSED_EACH = """
import json, sys
import django; django.setup()
from django.core.management import CommandError, call_command
refusals = {}
for command in ("restore", "backup"):
    try:
        call_command(command, sys.argv[1])
    except CommandError as refusal:
        refusals[command] = str(refusal)
print(json.dumps(refusals))
"""
RESTORE_EACH = """
import json, sys
import django; django.setup()
from django.core.management import CommandError, call_command
refusals = {}
for file in sys.argv[1:]:
    try:
        call_command("restore", file)
    except CommandError as refusal:
        refusals[file] = str(refusal)
print(json.dumps(refusals))
"""


def test_what_is_no_sound_backup_changes_nothing(backup, tmp_path):
    other = tmp_path / "new" / "var"
    files = {kind: tmp_path / f"{kind}.zip" for kind in UNSOUND}
    for kind, file in files.items():
        if kind != "absent":
            _spoilt(kind, backup, file)
    done = _python(other, RESTORE_EACH, *files.values())
    assert done.returncode == 0, done.stderr
    refusals = json.loads(done.stdout.splitlines()[-1])
    for kind, words in UNSOUND.items():
        assert words in refusals[str(files[kind])]
    assert not (other / "media").exists()
    assert not list(tmp_path.rglob("outside.txt"))
    left = {path.name for path in other.iterdir()}
    assert left <= {"secret.key", "log.key", "kitdesk.sqlite3", "at-work.lock"}


@pytest.mark.night
def test_a_sealed_backup_is_put_back_into_a_scratch_place_and_verified(desk, tmp_path):
    file, phrase = tmp_path / "desk.sealed", {"KITDESK_BACKUP_PHRASE": "slow herons"}
    assert _manage(desk, "backup", file, **phrase).returncode == 0
    assert not zipfile.is_zipfile(file)
    tried = _manage(desk, "backup", file, "--check", **phrase)
    assert "can be put back" in tried.stdout, tried.stderr
    assert not list(desk.glob(".kitdesk-check-*"))


def test_a_sealed_backup_without_its_phrase_says_how_to_give_it(tmp_path):
    file = tmp_path / "desk.sealed"
    file.write_bytes(sealing.MAGIC + bytes(100))
    with pytest.raises(NotPossible, match="Set KITDESK_BACKUP_PHRASE"):
        _opened(file, tmp_path, "")


@pytest.mark.night
def test_a_backup_of_before_manifests_is_still_put_back(backup, tmp_path):
    old = tmp_path / "old.zip"
    with zipfile.ZipFile(backup) as new, zipfile.ZipFile(old, "w") as archive:
        for name in new.namelist():
            content = new.read(name)
            if name == "about.json":
                about = json.loads(content) | {"kitdesk_backup": 1}
                del about["files"]
                content = json.dumps(about).encode()
            archive.writestr(name, content)
    done = _manage(tmp_path / "var", "restore", old)
    assert done.returncode == 0, done.stderr
    assert _owner(tmp_path / "var") == [("ada",)]
    assert (tmp_path / "var" / "media" / "captures" / "a.csv").read_bytes() == b"t_s,emg"


@pytest.mark.night
def test_a_refusal_to_restore_is_a_sentence_at_the_prompt(tmp_path):
    refused = _manage(tmp_path / "var", "restore", tmp_path / "absent.zip")
    assert refused.returncode == 1
    assert "No such file" in refused.stderr and "Traceback" not in refused.stderr
