"""A parcel comes back, or never does: every line is booked once."""

from decimal import Decimal

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.issue import (
    clear,
)
from rentals.actions.receive import (
    arrive,
    finish_check,
    note_line,
    write_off,
)
from rentals.actions.register import fit_part, swap_part
from rentals.actions.return_scan import note_found, scan_return
from rentals.actions.settle import charge, recover, settle, waive
from rentals.codes import make_code
from rentals.errors import Refused
from rentals.models import ElectrodeBatch, Part, Shortfall
from rentals.selectors.returns import unfinished
from rentals.verify import verify
from tests.factories import assigned_loan, complete_kit, packed_loan, spare
from tests.rentals.actions.acts import all_back, events_after, pack_all, stock_levels

pytestmark = pytest.mark.django_db


def test_what_is_missing_or_damaged_becomes_a_shortfall_and_bars_the_kit():
    loan = packed_loan()
    kit = loan.kit
    check = arrive(dispatch(kit).kit)
    all_back(check)
    key = check.lines.get(packing_line__part_kind="licence_key")
    leads = check.lines.get(packing_line__part_kind="lead_set")
    bands = check.lines.get(packing_line__part_kind="band")
    note_line(key, "missing")
    note_line(leads, "damaged", damaged_lead="B", note="kinked at the housing")
    note_line(bands, "back", quantity_back=1)
    finish_check(check)
    short = {one.packing_line.part_kind: one for one in loan.shortfalls.all()}
    assert set(short) == {"licence_key", "lead_set", "band"}
    assert short["licence_key"].amount == Decimal("90")
    assert short["lead_set"].detail == "lead B: kinked at the housing"
    assert short["band"].quantity == 1
    with pytest.raises(Refused, match=r"Licence key is missing.*Lead set P\w+ is damaged \(lead B"):
        clear(kit, why="bench")
    swap_part(kit, leads.packing_line.part, spare("lead_set"))
    fit_part(kit, spare("licence_key"))
    clear(kit, why="bench")
    with pytest.raises(Refused, match="Still open"):
        settle(loan)
    recover(short["licence_key"])
    assert Part.objects.get(pk=key.packing_line.part_id).place == "spare"
    charge(short["lead_set"], Decimal("45"))
    waive(short["band"], reason="torn before")
    settle(loan)
    assert verify() == []


def test_a_box_that_comes_back_is_stock_again_and_used_electrodes_are_not():
    loan = assigned_loan()
    before = stock_levels()
    pack_all(loan.kit)
    check = arrive(dispatch(loan.kit).kit)
    all_back(check)
    with pytest.raises(Refused, match="single-use"):
        note_line(check.lines.get(packing_line__part_kind="electrodes"), "back")
    finish_check(check)
    after = stock_levels()
    assert {name for name in before if after[name] != before[name]} == set(
        ElectrodeBatch.objects.values_list("batch_number", flat=True)
    )


def test_a_part_of_another_kit_is_identified_at_return():
    loan, other = packed_loan(), complete_kit()
    check = arrive(dispatch(loan.kit).kit)
    stranger = other.parts.get(kind="battery_pack")
    said, line = scan_return(check, stranger.code)
    assert line is None
    assert f"belongs to kit {other.code}" in said
    assert check.found.get().part_id == stranger.pk


def test_a_check_is_not_finished_before_every_line_is_seen_cleaned_and_charged():
    check = arrive(dispatch(packed_loan().kit).kit)
    assert len(unfinished(check)) == 7
    for line in check.lines.filter(packing_line__comes_back=True):
        note_line(line, "back")
    with pytest.raises(Refused, match=r"to be put on charge.*to be cleaned"):
        finish_check(check)


def test_a_kit_that_never_comes_back_is_written_off_line_by_line():
    loan = packed_loan()
    dispatch(loan.kit)
    write_off(loan.kit, reason="parcel lost in the post")
    assert loan.shortfalls.count() == 7
    assert Shortfall.objects.filter(state="open").count() == 7
    assert set(Part.objects.values_list("place", flat=True)) == {"lost"}
    assert verify() == []


def test_a_line_takes_no_outcome_and_no_count_that_cannot_be():
    check = arrive(dispatch(packed_loan().kit).kit)
    charger = check.lines.get(packing_line__part_kind="charger")
    bands = check.lines.get(packing_line__part_kind="band")
    for line, outcome, count, sentence in (
        (charger, "eaten", None, "Say what became of it"),
        (charger, "used_up", None, "must come back"),
        (bands, "back", 3, "0 to 2 can be back"),
        (bands, "back", 0, "call it missing"),
        (bands, "damaged", 2, "call it back"),
    ):
        with pytest.raises(Refused, match=sentence):
            note_line(line, outcome, quantity_back=count)
    charger.refresh_from_db()
    assert charger.outcome == "open"


def test_a_scan_at_return_is_a_part_a_label_or_a_thing_found():
    loan = packed_loan()
    check = arrive(dispatch(loan.kit).kit)
    code = loan.kit.parts.get(kind="charger").code
    for _ in range(2):
        sentence, line = scan_return(check, code)
        assert sentence.endswith(f"{code}: back.") and line.outcome == "back"
    assert "the kit's own label" in scan_return(check, loan.kit.code)[0]
    assert "on file as spare" in scan_return(check, spare("charger").code)[0]
    assert "no part of this desk" in scan_return(check, make_code("P", 99999))[0]
    note_found(check, " a mute ")
    with pytest.raises(Refused, match="Say what was found"):
        note_found(check, " ")
    with pytest.raises(Refused) as refusal:
        scan_return(check, "?!")
    assert refusal.value.field == "scan"
    assert check.found.count() == 3


def test_a_finished_check_stands():
    check = arrive(dispatch(packed_loan().kit).kit)
    all_back(check)
    note_found(check, "a mute")
    loan = finish_check(check)
    assert loan.kit.events.last().text == "Return checked: complete. 1 found."
    assert finish_check(check).closed_at == loan.closed_at
    with pytest.raises(Refused, match="its lines stand"):
        note_line(check.lines.first(), "missing")


def test_a_kit_that_is_not_away_is_neither_received_nor_written_off():
    loan = packed_loan()
    assert events_after(lambda: arrive(loan.kit), "there is nothing to receive") == 0
    assert events_after(lambda: write_off(loan.kit, reason="lost"), "only a kit that is away") == 0
    dispatch(loan.kit)
    assert events_after(lambda: write_off(loan.kit, reason=" "), "Say why") == 0
