"""A roster is kept as a draft, corrected in its preview and carried out once."""

import pytest

from rentals.actions.roster import (
    choose_columns,
    correct_rows,
    discard_draft,
    import_draft,
    keep_draft,
    leave_out_bad,
)
from rentals.errors import Refused
from rentals.models import CourseRun, RosterDraft, Student
from rentals.roster.reading import read_roster
from tests.factories import CourseRunFactory, StudentFactory

pytestmark = pytest.mark.django_db

HEADS = "Name,E-mail,City,Country\n"
ADA = "Ada Test,ada@x.example,Rosinburg,DE\n"
NOBODY = ",nobody@x.example,Rosinburg,DE\n"


def draft_of(rows: str, run: CourseRun | None = None) -> RosterDraft:
    sheet = read_roster((HEADS + rows).encode())
    return keep_draft(run or CourseRunFactory(), sheet, file_name="roster.csv")


def test_a_clean_draft_is_carried_out_once():
    draft = draft_of(ADA)
    done = import_draft(draft)
    assert done.result.startswith("1 enrolled, 1 of them new")
    assert import_draft(draft).imported_at == done.imported_at
    assert draft.run.enrolments.get().student.email == "ada@x.example"
    with pytest.raises(Refused, match="imported already"):
        correct_rows(draft, fixes={}, left_out={}, keep={})


def test_one_bad_row_keeps_all_out_until_it_is_left_out():
    draft = draft_of(ADA + NOBODY)
    with pytest.raises(Refused, match="Row 3 still stands in the way"):
        import_draft(draft)
    assert not Student.objects.exists()
    leave_out_bad(draft)
    assert import_draft(draft).result.endswith("1 row left out.")
    assert Student.objects.get().name == "Ada Test"


def test_a_row_is_mended_in_the_preview():
    draft = draft_of(NOBODY)
    correct_rows(draft, fixes={2: {"name": "Cai Test", "shoe": "41"}}, left_out={}, keep={})
    import_draft(draft)
    assert Student.objects.get().name == "Cai Test"


def test_rows_that_are_all_left_out_import_nobody():
    draft = draft_of(ADA)
    correct_rows(draft, fixes={}, left_out={2: True}, keep={})
    with pytest.raises(Refused, match="nobody to import"):
        import_draft(draft)
    correct_rows(draft, fixes={}, left_out={2: False}, keep={})
    assert import_draft(draft).imported_at


@pytest.mark.parametrize(("keep", "city"), [(False, "Rosinburg"), (True, "Oldtown")])
def test_a_known_student_follows_the_file_unless_kept(keep, city):
    student = StudentFactory(name="Ada Test", email="ADA@x.example", city="Oldtown")
    draft = draft_of(ADA)
    correct_rows(draft, fixes={}, left_out={}, keep={2: keep})
    import_draft(draft)
    student.refresh_from_db()
    assert (student.city, student.email) == (city, "ADA@x.example")
    assert Student.objects.count() == 1


def test_a_new_file_takes_the_place_of_the_draft_before_it():
    first = draft_of(ADA)
    second = draft_of(ADA, first.run)
    assert list(RosterDraft.objects.all()) == [second]
    discard_draft(second)
    assert not RosterDraft.objects.exists()


def test_chosen_columns_are_kept_and_heads_alone_refused():
    draft = draft_of(ADA)
    fields = draft.content["fields"] | {"name": 2}
    assert choose_columns(draft, fields).content["fields"]["name"] == 2
    with pytest.raises(Refused, match="no students below") as refusal:
        draft_of("")
    assert refusal.value.field == "file"
