"""Files that a killed upload left behind go a day later; what a row names, and what is no upload's,
stays.
"""

from datetime import timedelta

import pytest
from django.core.files.base import ContentFile
from django.core.management import call_command
from django.utils import timezone

from kitdesk import stray_files
from kitdesk.file_move import names_in_rows
from readiness.actions.student_captures import take_student_capture
from readiness.actions.upload import store_upload
from rentals.actions.guide import begin_help
from rentals.laid_files import laying_down
from rentals.models import LinePhoto
from tests.factories import complete_kit, packed_loan
from tests.readiness.captures import capture_bytes, capture_file
from tests.rentals.guide import lent
from tests.rentals.photos import add_pictures

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]
LIKE = "captures/ab/abc"


def test_only_what_no_row_names_goes_and_only_after_a_day(kept_files):
    kit = complete_kit(cleared=False)
    store_upload([capture_file("a.csv", capture_bytes("still", kit=kit.code))])
    take_student_capture(begin_help(lent(), "hum"), capture_file("b.csv", capture_bytes("worn")))
    add_pictures(packed_loan().packing_lines.first(), b"a dent")
    named = set(names_in_rows())
    assert len(named) == 3 and all(name.startswith(stray_files.FOLDERS) for name in named)
    for name in (LIKE, "captures/ab/half.part", "of-others/notes.txt"):
        kept_files.save(name, ContentFile(b"1"))
    now = timezone.now()
    assert stray_files.clear_stray_files(now + timedelta(hours=23)) == 0
    assert stray_files.clear_stray_files(now + timedelta(hours=25)) == 2
    assert set(kept_files.names()) == named | {"of-others/notes.txt"}


def test_the_tick_looks_for_them_once_a_day(clean_cache, monkeypatch):
    looked = []
    monkeypatch.setattr(stray_files, "clear_stray_files", looked.append)
    for _ in range(2):
        call_command("tick", verbosity=0)
    assert len(looked) == 1


def test_a_store_that_is_away_stops_no_tick(clean_cache, store, keep_files_at):
    keep_files_at("s3://kits?region=eu-1&timeout=0.2&endpoint=http://127.0.0.1:9")
    assert stray_files.clear_stray_files_daily() == 0


def test_what_no_act_named_is_gone_at_the_end_and_no_name_comes_back(kept_files):
    with pytest.raises(ZeroDivisionError), laying_down() as lay:
        names = {lay(LIKE, ContentFile(b"1"), "").name for _ in range(3)}
        assert len(names) == 3 and set(kept_files.names()) == names
        raise ZeroDivisionError
    assert list(kept_files.names()) == []
    assert not LinePhoto.objects.exists()
