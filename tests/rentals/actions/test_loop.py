"""A kit goes round the loop by its actions alone."""

from decimal import Decimal

import pytest

from rentals.actions.dispatch import dispatch, recall
from rentals.actions.issue import (
    assign,
    clear,
    hold,
    override_gate,
    refuse_clearance,
    release,
    retire,
    unassign,
)
from rentals.actions.pack import pack, scan_part, tick, unpack
from rentals.actions.packing_list import draw_up
from rentals.actions.receive import (
    arrive,
    finish_check,
    note_line,
    scan_return,
    unfinished,
    write_off,
)
from rentals.actions.register import fit_part, swap_part
from rentals.actions.settle import charge, recover, settle, waive
from rentals.errors import Refused
from rentals.models import ElectrodeBatch, Event, Part, Shortfall, StockItem
from rentals.verify import verify
from tests.factories import EnrolmentFactory, assigned_loan, complete_kit, packed_loan, spare

pytestmark = pytest.mark.django_db


def stock_levels() -> dict[str, int]:
    items = {item.name: item.on_hand for item in StockItem.objects.filter(by_batch=False)}
    return items | {batch.batch_number: batch.on_hand for batch in ElectrodeBatch.objects.all()}


def all_back(check) -> None:
    for line in check.lines.select_related("packing_line"):
        if line.packing_line.comes_back:
            note_line(line, "back", cleaned=True, charged=True)


def test_a_kit_goes_out_comes_back_and_goes_out_again():
    loan = packed_loan()
    kit = loan.kit
    dispatch(kit, tracking_number="RR 1")
    kit.refresh_from_db()
    assert (kit.state, kit.cleared) == ("away", True)
    check = arrive(kit)
    kit.refresh_from_db()
    assert (kit.state, kit.cleared) == ("check", False)
    all_back(check)
    finish_check(check)
    kit.refresh_from_db()
    assert (kit.state, kit.cleared) == ("bench", False)
    next_enrolment = EnrolmentFactory(run__kit_type=kit.kit_type)
    with pytest.raises(Refused, match="not tested since"):
        pack_all(assign(kit, next_enrolment).kit)
    clear(kit, why="still, flex and lift fit")
    pack_all(kit)
    kit.refresh_from_db()
    assert kit.state == "packed"
    settle(loan)
    assert verify() == []


def pack_all(kit) -> None:
    for line in draw_up(kit).packing_lines.all():
        tick(line)
    pack(kit)


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


def test_packing_takes_stock_and_unpacking_gives_it_back():
    loan = assigned_loan()
    before = stock_levels()
    pack_all(loan.kit)
    assert sum(before.values()) - sum(stock_levels().values()) == 24 + 2 + 1
    unpack(loan.kit)
    assert stock_levels() == before


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


def test_a_wrong_part_says_whose_it_is():
    loan, other = assigned_loan(), complete_kit()
    stranger = other.parts.get(kind="lead_set")
    with pytest.raises(Refused, match=f"belongs to kit {other.code}"):
        scan_part(loan.kit, stranger.code)
    own = loan.kit.parts.get(kind="lead_set")
    assert scan_part(loan.kit, f" {own.code.lower()} ").line.part_id == own.pk


def test_a_part_of_another_kit_is_identified_at_return():
    loan, other = packed_loan(), complete_kit()
    check = arrive(dispatch(loan.kit).kit)
    stranger = other.parts.get(kind="battery_pack")
    said, line = scan_return(check, stranger.code)
    assert line is None
    assert f"belongs to kit {other.code}" in said
    assert check.found.get().part_id == stranger.pk


def test_packing_asks_for_every_line():
    loan = assigned_loan()
    draw_up(loan.kit)
    with pytest.raises(Refused, match="8 not ticked yet: Amplifier"):
        pack(loan.kit)


def test_acts_repeated_do_nothing_twice():
    loan = packed_loan()
    events = Event.objects.count()
    pack(loan.kit)
    assert Event.objects.count() == events
    dispatch(loan.kit)
    events = Event.objects.count()
    dispatch(loan.kit)
    arrive(loan.kit)
    arrive(loan.kit)
    assert Event.objects.count() == events + 1


def test_a_check_is_not_finished_before_every_line_is_seen_cleaned_and_charged():
    check = arrive(dispatch(packed_loan().kit).kit)
    assert len(unfinished(check)) == 7
    for line in check.lines.filter(packing_line__comes_back=True):
        note_line(line, "back")
    with pytest.raises(Refused, match=r"put it on charge.*clean it"):
        finish_check(check)


def test_the_owner_can_override_the_gate_and_the_reason_stays(owner):
    kit = complete_kit(cleared=False)
    loan = assigned_loan(kit)
    with pytest.raises(Refused, match="Only the owner"):
        override_gate(kit, reason="The student has a concert to prepare.", actor=None)
    override_gate(kit, reason="The student has a concert to prepare.", actor=owner)
    pack_all(kit)
    dispatch(kit)
    loan.refresh_from_db()
    kit.refresh_from_db()
    assert loan.override_reason == kit.override_reason == "The student has a concert to prepare."
    assert loan.cleared_at_packing is None
    arrive(kit)
    loan.refresh_from_db()
    assert loan.override_reason
    assert verify() == []


def test_holding_and_releasing_returns_the_kit_to_where_it_was():
    kit = complete_kit()
    hold(kit, reason="student reports a smell")
    kit.refresh_from_db()
    assert kit.state == "held"
    with pytest.raises(Refused, match="held"):
        assigned_loan(kit)
    release(kit)
    kit.refresh_from_db()
    assert (kit.state, kit.cleared, kit.hold_reason) == ("shelf", True, "")
    assert verify() == []


def test_changing_a_part_takes_the_clearance_away():
    kit = complete_kit()
    swap_part(kit, kit.parts.get(kind="lead_set"), spare("lead_set"))
    kit.refresh_from_db()
    assert (kit.state, kit.cleared) == ("bench", False)
    assert "test the kit" in kit.not_cleared_reason


def test_a_failed_bench_test_bars_an_assigned_kit_with_its_reason():
    loan = assigned_loan()
    refuse_clearance(loan.kit, reason="Intermittent lead B (flex): replace lead B.")
    with pytest.raises(Refused, match="Intermittent lead B"):
        pack_all(loan.kit)


def test_slips_can_be_undone():
    loan = packed_loan()
    dispatch(loan.kit)
    recall(loan.kit)
    unpack(loan.kit)
    unassign(loan.kit)
    loan.kit.refresh_from_db()
    assert (loan.kit.state, loan.kit.cleared) == ("shelf", True)
    assert verify() == []


def test_retiring_a_kit_frees_its_parts():
    kit = complete_kit()
    retire(kit, reason="housing cracked")
    assert set(Part.objects.values_list("place", flat=True)) == {"spare"}
    assert verify() == []


def test_a_kit_that_never_comes_back_is_written_off_line_by_line():
    loan = packed_loan()
    dispatch(loan.kit)
    write_off(loan.kit, reason="parcel lost in the post")
    assert loan.shortfalls.count() == 7
    assert Shortfall.objects.filter(state="open").count() == 7
    assert set(Part.objects.values_list("place", flat=True)) == {"lost"}
    assert verify() == []
