"""A long roster: asked for once, and only where nothing is in its way."""

import pytest

from rentals.actions.roster_errand import IMPORTED_AT_ONCE, ask_import, is_long
from rentals.errors import Refused
from rentals.models import Errand, RosterDraft, Student
from tests.rentals.actions.test_roster import ADA, NOBODY, draft_of
from tests.rentals.errands import queued

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("nobody_works")]


def test_it_is_long_from_one_row_more_than_are_imported_at_once():
    rows = [[number, [], {}, 0] for number in range(IMPORTED_AT_ONCE + 1)]
    assert is_long(RosterDraft(content={"rows": rows}))
    assert not is_long(RosterDraft(content={"rows": rows[:-1]}))


def test_a_clean_one_is_queued_once_and_nobody_is_saved_by_asking(owner):
    draft = draft_of(ADA)
    errand = ask_import(draft, actor=owner)
    assert errand.title == f"Import of 1 student into {draft.run.name}"
    assert ask_import(draft, actor=owner) == errand and queued() == [errand.pk]
    assert not Student.objects.exists()


def test_one_with_a_bad_row_is_refused():
    with pytest.raises(Refused, match="still stands in the way"):
        ask_import(draft_of(ADA + NOBODY))
    assert not Errand.objects.exists()
