"""Rows of a fleet's table, judged one by one."""

import pytest

from rentals.codes import make_code
from rentals.roster.fleet_rows import (
    FleetOnFile,
    FleetOutcome,
    FleetRow,
    KitOnFile,
    PartOnFile,
    fingerprint,
    judge_fleet,
)
from rentals.roster.fleet_table import fleet_table
from rentals.roster.text_table import read_pasted

FREE = {"amplifier": 1, "charger": 1, "lead_set": 2}
HERE, AWAY, TWIN = make_code("K", 1), make_code("K", 2), make_code("K", 3)
ON_FILE = FleetOnFile(
    parts={
        ("amplifier", "there"): PartOnFile(make_code("P", 1), HERE, "fitted", False),
        ("charger", "spare"): PartOnFile(make_code("P", 2), "", "spare", True),
        ("charger", "broken"): PartOnFile(make_code("P", 3), "", "damaged", False),
    },
    kits={
        HERE: KitOnFile(HERE, True, "at the bench", {"amplifier": 0, "charger": 1}),
        AWAY: KitOnFile(AWAY, False, "away", {"charger": 1}),
    },
    named={"blue": [HERE], "twin": [HERE, TWIN]},
    free=FREE,
    own_names={"emg box": "amplifier"},
)


def judged(*rows: str, on_file: FleetOnFile = ON_FILE) -> list[FleetRow]:
    text = "\n".join(["Kit;Kind;Serial", *rows])
    return judge_fleet(fleet_table(read_pasted(text), {}), on_file)


def test_new_kits_with_their_parts_spares_and_what_is_there() -> None:
    rows = judged("1;Amp;A1", "1;Dongle;L1", " 1 ;emg BOX;A2", ";Ladegerät;C1", "blue;amp;THERE")
    assert [row.kind for row in rows] == [
        "amplifier",
        "licence_key",
        "amplifier",
        "charger",
        "amplifier",
    ]
    outcomes = [row.outcome for row in rows]
    new, wrong, there = FleetOutcome.NEW, FleetOutcome.WRONG, FleetOutcome.THERE
    assert outcomes == [new, wrong, wrong, new, there]
    assert [row.into for row in rows][::3] == ["new kit “1”", "the spares"]
    assert rows[4].kit == HERE


def test_a_spare_on_file_goes_into_the_kit_and_stays_a_spare_without_one() -> None:
    into, stays = judged(f"{HERE};charger;Spare"), judged(";charger;SPARE")
    assert (into[0].outcome, into[0].part) == (FleetOutcome.SPARE, make_code("P", 2))
    assert stays[0].outcome == FleetOutcome.THERE


@pytest.mark.parametrize(
    ("row", "field", "sentence"),
    [
        ("1;flux box;A1", "kind", "“flux box” is no kind of part known here. Write one of these"),
        ("1;;A1", "kind", "The kind is missing"),
        ("1;gel electrodes;A1", "kind", "have no serial"),
        ("1;amp;", "serial", "The serial is missing"),
        ("1;amp;" + "x" * 61, "serial", "longer than 60"),
        ("1;amp;=A1", "serial", "is a formula"),
        ("n" * 61 + ";amp;A1", "kit", "longer than 60"),
        ("1;amp;there", "kit", "is in kit K 0001"),
        (";amp;there", "serial", "Take it out there first"),
        ("1;charger;broken", "kit", "is damaged"),
        ("2;licence key;L1", "kit", "has no free place for this licence key"),
        (f"{HERE};amp;A7", "kit", "has no free place"),
        (f"{AWAY};charger;C7", "kit", "is away: its parts cannot be changed now"),
        ("twin;charger;C7", "kit", "is noted on K 0001"),
        (make_code("K", 77) + ";amp;A1", "kit", "There is no kit K 0077"),
        (HERE[:-1] + ("A" if HERE[-1] != "A" else "B") + ";amp;A1", "kit", "does not hold"),
        (make_code("P", 1) + ";amp;A1", "kit", "not the code of a kit"),
    ],
)
def test_what_is_wrong_names_its_cell(row: str, field: str, sentence: str) -> None:
    (bad,) = judged(row)
    assert bad.outcome == FleetOutcome.WRONG
    (fault,) = bad.faults
    assert fault.field == field and sentence in fault.sentence
    assert fault.cell == ({"kit": "A2", "kind": "B2", "serial": "C2"}.get(field, ""))


def test_the_same_serial_twice_and_a_kit_that_is_full_by_the_rows_above() -> None:
    rows = judged("1;amp;A1", "2;amp;a1", "2;amp;A2", "2;amp;A3", "2;lead set;A1", "2;leads;A4")
    wrong = {row.number: row.faults[0].sentence for row in rows if row.faults}
    assert wrong[3] == "The same serial stands in row 2."
    assert "has no free place" in wrong[5] and set(wrong) == {3, 5}


def test_a_cell_beyond_the_headings_is_a_comma_too_many() -> None:
    rows = judged("1;amp;A1;more", "1;charger;C1", "1;leads;L1")
    assert "4 cells for 3 heads" in rows[0].faults[0].sentence
    assert not rows[1].faults and not rows[2].faults


def test_a_preview_is_told_apart_by_what_it_promised() -> None:
    promised = fingerprint(judged("1;amp;A1"))
    assert promised == fingerprint(judged("1;Verstärker;A1"))
    assert promised != fingerprint(judged("2;amp;A1"))
    assert promised != fingerprint(judged("1;amp;A2"))
