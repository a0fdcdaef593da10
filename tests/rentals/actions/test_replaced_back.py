"""Faulty parts and their replacements come back: by themselves, with the kit, or never."""

import pytest
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.issue import clear
from rentals.actions.receive import arrive, finish_check, note_line, write_off
from rentals.actions.replace_part import ask_replacement, send_replacement
from rentals.actions.replaced_back import note_faulty_back
from rentals.actions.settle import settle
from rentals.actions.table_scan import scan_on_table
from rentals.models import Kit, Part
from rentals.selectors.losses import owed_of
from rentals.verify import verify
from tests.factories import packed_loan, spare
from tests.rentals.actions.acts import all_back

pytestmark = pytest.mark.django_db


def replaced(kind="lead_set", **facts):
    """A loan that is away, a faulty part of its kit, and the one that was sent in its place."""
    loan = dispatch(packed_loan().kit)
    line = loan.packing_lines.get(part_kind=kind)
    row = ask_replacement(line, why="Dead.", part=spare(kind), **facts)
    return loan, send_replacement(row)


def test_both_come_back_with_the_kit_and_the_sound_one_stays_in_it():
    loan, row = replaced()
    check = arrive(loan.kit)
    assert check.lines.filter(packing_line__part_kind="lead_set").count() == 2
    all_back(check)
    finish_check(check)
    faulty, new = Part.objects.get(pk=row.faulty.part_id), Part.objects.get(pk=row.part_id)
    assert (faulty.place, faulty.damaged, faulty.damage_note) == ("repair", True, "Dead")
    assert (new.place, new.kit) == ("fitted", loan.kit)
    assert loan.shortfalls.count() == 0
    clear(Kit.objects.get(pk=loan.kit_id), why="bench")
    settle(loan)
    assert verify() == []


def test_the_faulty_one_comes_by_itself_and_counts_as_back():
    loan, row = replaced(back_by=timezone.localdate())
    scanned = scan_on_table(row.faulty.part_code)
    assert scanned.accepted and "noted as here" in scanned.sentence
    assert note_faulty_back(row).faulty_back_at
    assert len(owed_of(loan).lines) == 7  # six of the seven, and the one that was sent
    check = arrive(loan.kit)
    line = check.lines.get(packing_line=row.faulty)
    assert line.outcome == "back" and "it came by itself on" in line.note
    all_back(check)
    note_line(check.lines.get(packing_line__sent_with=row), "missing")
    finish_check(check)
    assert Part.objects.get(pk=row.part_id).place == "missing"
    assert Part.objects.get(pk=row.faulty.part_id).place == "repair"
    assert loan.shortfalls.get().packing_line.sent_with == row
    assert verify() == []


def test_a_faulty_one_that_is_missing_and_a_replacement_that_is_damaged():
    loan, row = replaced("charger")
    check = arrive(loan.kit)
    all_back(check)
    note_line(check.lines.get(packing_line=row.faulty), "missing")
    note_line(check.lines.get(packing_line__sent_with=row), "damaged", note="wet")
    finish_check(check)
    places = Part.objects.filter(kind="charger").order_by("pk").values_list("place", "damaged")
    assert list(places) == [("missing", False), ("repair", True)]
    assert loan.shortfalls.count() == 2
    assert verify() == []


def test_what_was_not_sent_yet_goes_no_more_and_a_lost_kit_takes_what_was_sent():
    loan = dispatch(packed_loan().kit)
    line = loan.packing_lines.get(part_kind="charger")
    row = ask_replacement(line, why="Hot.", part=spare("charger"))
    arrive(loan.kit)
    row.refresh_from_db()
    assert row.cancelled_at is not None
    lost, sent = replaced(back_by=timezone.localdate())
    note_faulty_back(sent)
    write_off(lost.kit, reason="parcel lost in the post")
    assert Part.objects.get(pk=sent.part_id).place == "lost"
    assert Part.objects.get(pk=sent.faulty.part_id).place == "repair"
    assert not lost.shortfalls.filter(packing_line=sent.faulty).exists()
    assert verify() == []
