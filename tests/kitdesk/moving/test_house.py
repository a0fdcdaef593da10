"""A desk that moves house: out into a folder, in from it, and on with the work."""

import hashlib
import io
import json
import shutil
from datetime import timedelta
from decimal import Decimal
from pathlib import Path

import pytest
import time_machine
from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.core.management import CommandError, call_command
from django.db.models import JSONField, Value
from django.utils import timezone

from kitdesk.backups.manifest import PackedFile
from kitdesk.moving.kept_files import names_of_files
from kitdesk.moving.listing import Listing, checked_listing
from readiness.models import Capture
from rentals.actions.erase import erase
from rentals.actions.settle import charge
from rentals.models import Attachment, Kit, LogLine, Message, RosterDraft, Student
from rentals.verify import verify
from tests.factories import ElectrodeBatchFactory, complete_kit
from tests.kitdesk.moving.desks import empty_copy, make_tables, sqlite_beside, working_at
from tests.readiness.drops import still
from tests.rentals.actions.acts import shortfall_of

pytestmark = pytest.mark.django_db(transaction=True)
ODD = '=1+1,"quoted";\r\nnext line\t\u2028\u200b‮ \x7f 猫 🎻'


def _fill() -> None:
    """A little of everything, all of it true, and some that is odd."""
    owner = User.objects.create_superuser("owner", "owner@desk.example", "quiet-bow-arm-42")
    with time_machine.travel(timezone.now() - timedelta(minutes=1)):
        short = shortfall_of("charger")
    charge(short, Decimal(22))
    still(short.loan.kit, 1)
    ElectrodeBatchFactory()
    Student.objects.create(name=ODD, email="odd@strings.example")
    Student.objects.create(name="Gone", email="gone@strings.example").delete()
    content = {"b": [None, 1.5, 2**60, True, ODD], "a": {"": ""}, "9": 0.1}
    run = short.loan.enrolment.run
    now = timezone.now()
    draft = RosterDraft.objects.create(run=run, file_name=ODD, content=content, at=now, by=owner)
    RosterDraft.objects.filter(pk=draft.pk).update(content=Value(None, JSONField()))
    mail = Message.objects.create(loan=short.loan, subject=ODD, body_text=ODD, drafted_at=now)
    Attachment.objects.create(message=mail, file_name="a.pdf", content=bytes(range(256)))


def _export(folder: Path) -> str:
    out = io.StringIO()
    call_command("export", folder, stdout=out)
    return out.getvalue()


def _import(folder: Path, **options: bool) -> str:
    out = io.StringIO()
    call_command("import", folder, stdout=out, **options)
    return out.getvalue()


def _tables(folder: Path) -> dict[str, list]:
    """Size and hash of every file but the page that says when and from what it was exported."""
    listed = json.loads((folder / "manifest.json").read_text())
    del listed["files"]["README.md"]
    return listed["files"] | {"counters": listed["counters"], "head": listed["log_head"]}


def _work_goes_on() -> None:
    before, ids = LogLine.objects.count(), set(Kit.objects.values_list("pk", flat=True))
    kit = complete_kit()
    assert kit.pk not in ids
    assert LogLine.objects.count() > before
    assert verify() == []
    # The row that was deleted has its number for ever.
    gone = Student.objects.get(name=ODD).pk + 1
    assert Student.objects.create(name="New", email="new@strings.example").pk == gone + 1


def _sheet(folder: Path, table: str) -> str:
    return (folder / "tables" / f"{table}.csv").read_bytes().decode("utf-8-sig")


@pytest.mark.slow
@pytest.mark.any_database
def test_a_desk_moves_and_works_on(tmp_path, settings):
    house, again = tmp_path / "house", tmp_path / "again"
    with empty_copy(tmp_path) as there:
        _fill()
        assert "and 1 file." in _export(house)
        with working_at(there, tmp_path / "new", settings):
            _is_left_as_it_was_by_a_broken_import(house, tmp_path / "broken")
            assert "All in order" in _import(house)
            with Capture.objects.get().file.open() as file:
                assert file.read()
            _export(again)
            assert _tables(again) == _tables(house)
            _work_goes_on()
            with pytest.raises(CommandError, match="holds rows already: 1 in auth_user"):
                _import(house)
            with pytest.raises(CommandError, match="is not empty"):
                _export(house)
    assert '"\'=1+1,""quoted"";\r\nnext line' in _sheet(house, "rentals_student")
    assert "password" not in _sheet(house, "auth_user")


@pytest.mark.any_database
def test_who_was_erased_after_the_export_is_erased_again_at_the_import(tmp_path, settings):
    house = tmp_path / "house"
    with empty_copy(tmp_path) as there:
        for name in ("Mia Lund", "Ida Moe"):
            Student.objects.create(name=name, email=f"{name[:3]}@strings.example")
        _export(house)
        erase(Student.objects.get(name="Mia Lund"))
        assert "Mia Lund" in (house / "rows" / "rentals_student.jsonl").read_text()
        with working_at(there, tmp_path / "new", settings):
            assert "1 student erased since the export, or due by now: erased again." in _import(
                house
            )
            assert list(Student.objects.filter(erased_at=None).values_list("name", flat=True)) == [
                "Ida Moe"
            ]
            assert "Mia" not in str(list(Student.objects.values()))
            assert verify() == []


@pytest.mark.any_database
def test_an_import_that_cannot_know_the_erased_again_says_so(tmp_path, settings):
    house = tmp_path / "house"
    with empty_copy(tmp_path) as there:
        Student.objects.create(name="Mia Lund", email="mia@strings.example")
        _export(house)
        erase(Student.objects.get(name="Mia Lund"))
        with working_at(there, tmp_path / "new", settings):
            settings.SECRET_KEY = "of another desk " * 4
            told = _import(house)
            assert "1 student was erased since then, but this desk has another" in told
            assert Student.objects.filter(name="Mia Lund").exists()


def _is_left_as_it_was_by_a_broken_import(house: Path, broken: Path) -> None:
    """Neither rows nor files stay, and what a cut off import left is no hindrance."""
    shutil.copytree(house, broken)
    _take_rows_out(broken, "rentals_message")
    rows = LogLine.objects.count()
    with pytest.raises(CommandError, match=r"not there: .*rentals_messagestep"):
        _import(broken)
    assert names_of_files() == [] and not User.objects.exists()
    assert LogLine.objects.count() == rows
    name = next((house / "files").rglob("*/*/*")).relative_to(house / "files").as_posix()
    default_storage.save(name, ContentFile(b"half"))


def _take_rows_out(folder: Path, table: str) -> None:
    """As somebody would who knows how the manifest is made."""
    about, files = checked_listing(folder)
    path = folder / "rows" / f"{table}.jsonl"
    content = path.read_bytes().splitlines(keepends=True)[0]
    path.write_bytes(content)
    listing = Listing(folder)
    digest = hashlib.sha256(content).hexdigest()
    listing.files = files | {f"rows/{table}.jsonl": PackedFile(len(content), digest)}
    for name in ("manifest.json", "manifest.sha256"):
        (folder / name).unlink()
    listing.close(about)


@pytest.mark.postgres
@pytest.mark.slow
def test_a_desk_moves_from_postgres_to_sqlite_and_back(tmp_path, settings):
    house, beside, back = tmp_path / "house", tmp_path / "beside", tmp_path / "back"
    with empty_copy(tmp_path) as there:
        _fill()
        _export(house)
        with working_at(sqlite_beside(tmp_path), tmp_path / "small", settings):
            make_tables()
            assert "All in order" in _import(house)
            _export(beside)
            _work_goes_on()
        with working_at(there, tmp_path / "new", settings):
            assert "All in order" in _import(beside)
            _export(back)
            _work_goes_on()
    assert _tables(house) == _tables(beside) == _tables(back)
