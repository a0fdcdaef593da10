"""Scans on the page of one check, where a part of another check lies in its parcel."""

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive, note_line
from rentals.actions.return_scan import belongs_words, scan_return
from rentals.codes import make_code
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db


def test_a_part_that_was_looked_at_already_keeps_what_was_written_of_it():
    here, there = (arrive(dispatch(packed_loan().kit).kit) for _ in range(2))
    leads = there.lines.get(packing_line__part_kind="lead_set")
    note_line(leads, "damaged", damaged_lead="A", note="kinked")
    sentence, line = scan_return(here, leads.packing_line.part_code)
    assert line == leads and "damaged" in sentence
    leads.refresh_from_db()
    assert (leads.outcome, leads.note) == ("damaged", "kinked")
    assert not here.found.exists()


def test_where_a_strange_code_belongs():
    assert belongs_words(make_code("P", 99999)) == "no part of this desk has that code."
