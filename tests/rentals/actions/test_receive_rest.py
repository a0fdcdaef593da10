"""The counted rest of a return with one press, and the arrival noted by the first scan."""

import pytest

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive, finish_check, note_line
from rentals.actions.receive_rest import note_rest_back, scan_parcel
from rentals.actions.return_scan import scan_return
from rentals.errors import Refused
from tests.factories import packed_loan, spare

pytestmark = pytest.mark.django_db


def away_loan():
    return dispatch(packed_loan().kit)


def outcomes(check):
    lines = check.lines.values_list("packing_line__part_kind", "outcome", "cleaned", "charged")
    return {kind: (outcome, clean, charged) for kind, outcome, clean, charged in lines}


def test_the_counted_rest_is_back_and_serial_parts_stay_to_be_scanned():
    loan = away_loan()
    check = arrive(loan.kit)
    box = check.lines.get(packing_line__part_kind="box")
    note_line(box, "missing")
    note_rest_back(check, cleaned=True, charged=True)
    noted = outcomes(check)
    assert noted["band"] == ("back", True, False)
    assert noted["box"][0] == "missing" and noted["electrodes"][0] == "used_up"
    assert noted["battery_pack"] == noted["amplifier"] == ("open", False, False)
    of_the_check = loan.events.filter(verb="noted").exclude(text__startswith="Deposit")
    assert of_the_check.get().text == ("The rest is back: 2 × Wrist band. Cleaned: 2 × Wrist band.")
    with pytest.raises(Refused, match="Amplifier: not looked at yet"):
        finish_check(check)
    for part in loan.kit.parts.all():
        scan_return(check, part.code)
    with pytest.raises(Refused, match="^Battery pack: to be put on charge"):
        finish_check(check)
    note_rest_back(check, charged=True)
    note_rest_back(check, cleaned=True, charged=True)
    assert outcomes(check)["battery_pack"] == ("back", False, True)
    assert of_the_check.count() == 2
    finish_check(check)
    with pytest.raises(Refused, match="is finished"):
        note_rest_back(check)


def test_the_first_scan_of_a_parcel_says_that_it_is_here():
    loan = away_loan()
    stranger = spare("charger")
    for text, sentence in ((stranger.code, "is on file as spare"), ("?!", "is not a code")):
        with pytest.raises(Refused, match=sentence):
            scan_parcel(loan.kit, text)
        loan.refresh_from_db()
        assert loan.stage == "away"
    part = loan.kit.parts.first()
    _, line = scan_parcel(loan.kit, part.code)
    assert line.outcome == "back"
    loan.refresh_from_db()
    assert loan.stage == "check"
    scan_parcel(loan.kit, stranger.code)
    assert loan.return_check.found.count() == 1
    assert loan.events.filter(verb="arrived").count() == 1
