"""A part that fails while the course goes on: a replacement is asked for, sent, or cancelled."""

from datetime import timedelta

import pytest
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.register import place_part
from rentals.actions.replace_part import (
    ask_replacement,
    cancel_replacement,
    send_replacement,
)
from rentals.errors import Refused
from rentals.models import ElectrodeBatch, Part, Replacement
from rentals.selectors.replacements import lines_to_replace, replacements_today
from rentals.verify import verify
from tests.factories import packed_loan, spare

pytestmark = pytest.mark.django_db


def today():
    return timezone.localdate()


def line_of(loan, kind):
    return loan.packing_lines.get(part_kind=kind)


def test_a_spare_is_promised_sent_and_is_a_line_of_the_loan():
    loan = dispatch(packed_loan().kit)
    leads, new = line_of(loan, "lead_set"), spare("lead_set")
    row = ask_replacement(leads, why="Lead A is dead.", part=new.code, back_by=today())
    (work,) = replacements_today(today()).lines
    assert (work.what, work.act) == ("Lead set: replacement to pack", "Pack and send it")
    assert leads not in lines_to_replace(loan)
    other = dispatch(packed_loan().kit)
    for part, sentence in (
        (new, "promised to another student"),
        (spare("charger"), "like for like"),
        (None, "Scan or type the spare"),
        (loan.kit.parts.get(kind="lead_set"), "not a sound spare"),
    ):
        with pytest.raises(Refused, match=sentence):
            ask_replacement(line_of(other, "lead_set"), why="x", part=part)
    send_replacement(row, tracking_number="AB 1", carrier="Post")
    sent = send_replacement(row)
    assert (sent.tracking_number, sent.carrier) == ("AB1", "Post")
    line = row.lines.get()
    assert (line.loan, line.part_id, line.serial) == (loan, new.pk, new.serial)
    new.refresh_from_db()
    assert (new.place, new.kit) == ("sent", None)
    with pytest.raises(Refused, match="is with a student"):
        place_part(new, Part.Place.SPARE)
    with pytest.raises(Refused, match="was sent already"):
        cancel_replacement(row)
    assert replacements_today(today()).total == 0
    (late,) = replacements_today(today() + timedelta(days=1)).lines
    assert (late.what, late.act) == ("Lead set, faulty", "The faulty one is here")
    # The list that went out first stays frozen as it was.
    assert verify() == []
    line.serial = "another"
    line.save()
    assert len(verify()) == 2


def test_pieces_of_stock_are_taken_and_a_cancelled_one_leaves_all_as_it_was():
    loan = dispatch(packed_loan().kit)
    gel, before = line_of(loan, "electrodes"), ElectrodeBatch.objects.get().on_hand
    with pytest.raises(Refused, match="does not come back"):
        ask_replacement(gel, why="Dry.", back_by=today())
    with pytest.raises(Refused, match="send 1 to 24"):
        ask_replacement(gel, why="Dry.", quantity=25)
    first = cancel_replacement(ask_replacement(gel, why="Dry.", quantity=6))
    assert first.cancelled_at and ElectrodeBatch.objects.get().on_hand == before
    with pytest.raises(Refused, match="was cancelled"):
        send_replacement(first)
    row = send_replacement(ask_replacement(gel, why="Dry.", quantity=6))
    assert ElectrodeBatch.objects.get().on_hand == before - 6
    assert row.lines.get().batch_number == gel.batch_number
    assert Replacement.objects.count() == 2
    assert verify() == []


def test_a_refusal_says_why():
    loan = packed_loan()
    charger = line_of(loan, "charger")
    with pytest.raises(Refused, match="a student who has the kit"):
        ask_replacement(charger, why="Hot.", part=spare("charger"))
    dispatch(loan.kit)
    new = spare("charger")
    with pytest.raises(Refused, match="Say what is wrong"):
        ask_replacement(charger, why=" ", part=new)
    with pytest.raises(Refused, match="before today"):
        ask_replacement(charger, why="Hot.", part=new, back_by=today() - timedelta(days=1))
    row = ask_replacement(charger, why="Hot.", part=new)
    with pytest.raises(Refused, match="is replaced already"):
        ask_replacement(charger, why="Hot.", part=spare("charger"))
    place_part(new, Part.Place.LOST)
    with pytest.raises(Refused, match="no sound spare any more"):
        send_replacement(row)
    row.refresh_from_db()
    assert row.sent_at is None and not row.lines.exists()
