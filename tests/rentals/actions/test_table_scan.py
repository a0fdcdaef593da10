"""Two parcels on one table: parts scanned in any order each go back on the check of their own."""

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import finish_check
from rentals.actions.receive_rest import note_rest_back
from rentals.actions.table_scan import scan_on_table
from rentals.errors import Refused
from rentals.models import ReturnLine
from rentals.verify import verify
from tests.factories import complete_kit, packed_loan

pytestmark = pytest.mark.django_db


def test_two_parcels_whose_parts_are_mixed_go_back_each_on_its_own_check():
    nina, omar = (dispatch(packed_loan().kit) for _ in range(2))
    parts = {loan: {part.kind: part for part in loan.kit.parts.all()} for loan in (nina, omar)}
    # Nobody has said yet which parcel is here: nothing is guessed.
    early = scan_on_table(parts[omar]["charger"].code)
    assert not early.accepted and "still with" in early.sentence
    assert "Scan the label of the kit" in early.sentence
    hand = scan_on_table(nina.kit.code)
    assert hand.parcel == nina.kit and hand.accepted
    with pytest.raises(Refused, match="Scan a part of kit"):
        scan_on_table(parts[omar]["charger"].code, nina.kit)
    for kind in ("amplifier", "lead_set"):
        assert scan_on_table(parts[nina][kind].code, nina.kit).line.outcome == "back"
    # Omar's charger lay in Nina's parcel, while his kit is still with him.
    strange = scan_on_table(parts[omar]["charger"].code, nina.kit)
    assert strange.line is None and "still with" in strange.sentence
    scan_on_table(parts[omar]["amplifier"].code, scan_on_table(omar.kit.code).parcel)
    lines = {line.packing_line.part: line for line in ReturnLine.objects.all()}
    charger = lines[parts[omar]["charger"]]
    assert charger.outcome == "back" and "Came in the parcel of kit" in charger.note
    # Nina's key lay in his: her check is told, with the parcel.
    moved = scan_on_table(parts[nina]["licence_key"].code, omar.kit)
    assert moved.line.check_of.loan == nina and moved.line.outcome == "back"
    assert nina.events.filter(text__contains="Came in the parcel of kit").count() == 1
    # The rest in any order, with no parcel in hand.
    for loan, kind in ((omar, "lead_set"), (nina, "battery_pack"), (omar, "licence_key")):
        assert scan_on_table(parts[loan][kind].code).line.check_of.loan == loan
    scan_on_table(parts[omar]["battery_pack"].serial)
    scan_on_table(parts[nina]["charger"].serial)
    for loan in (nina, omar):
        check = loan.return_check
        note_rest_back(check, cleaned=True, charged=True)
        assert finish_check(check).shortfalls.count() == 0
        assert {part.kit_id for part in parts[loan].values()} == {loan.kit_id}
    assert not charger.check_of.found.exists()
    assert nina.return_check.found.get().state == "moved"
    assert verify() == []


def test_a_label_of_a_kit_without_a_parcel_and_a_strange_part_are_told_apart():
    kit = complete_kit()
    with pytest.raises(Refused, match="on the shelf: there is no parcel of it"):
        scan_on_table(kit.code)
    strange = scan_on_table(kit.parts.get(kind="charger").code)
    assert f"belongs to kit {kit.code}" in strange.sentence and not strange.accepted
