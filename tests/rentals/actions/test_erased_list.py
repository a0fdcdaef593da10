"""Who was erased stands beside the desk and beside its backups, and brings nobody's name."""

import json
from pathlib import Path

import pytest
from django.utils import timezone

from rentals.actions.erased_list import (
    LIST,
    backup_folders,
    note_erased,
    note_erased_elsewhere,
    noted_in,
    remember_backup,
    to_erase_again,
    write_list,
)
from tests.factories import StudentFactory

pytestmark = pytest.mark.django_db


def test_an_erasure_is_noted_beside_every_backup_before_and_after(tmp_path, settings):
    early, late = tmp_path / "early", tmp_path / "late"
    early.mkdir()
    late.mkdir()
    remember_backup(early)
    note_erased([3])
    remember_backup(late)
    note_erased([5])
    own = Path(settings.KITDESK_ERASURES)
    assert backup_folders() == [early, late]
    assert {tuple(noted_in(folder / LIST)) for folder in (own, early, late)} == {("3", "5")}
    late.rename(tmp_path / "moved")
    assert backup_folders() == [early]
    assert write_list(tmp_path / "moved" / LIST, {}) is False


def test_what_one_machine_erased_is_noted_beside_the_backups_of_another(tmp_path, settings):
    student = StudentFactory(erased_at=timezone.now())
    note_erased([student.pk])
    settings.KITDESK_ERASURES = tmp_path / "of another machine"
    backups = tmp_path / "backups"
    backups.mkdir()
    remember_backup(backups)
    for _ in range(2):
        note_erased_elsewhere()
        assert set(noted_in(backups / LIST)) == {str(student.pk)}


def test_only_numbers_with_this_desks_mark_are_erased_again(settings):
    student, other = StudentFactory(), StudentFactory()
    note_erased([student.pk, 99999])
    assert to_erase_again() == [student]
    path = Path(settings.KITDESK_ERASURES) / LIST
    marks = noted_in(path) | {str(other.pk): "of another desk"}
    path.write_text(json.dumps({"erased": marks}))
    assert to_erase_again() == [student]
    path.write_text("damaged")
    assert to_erase_again() == []
