"""The chances that a fault is seen: looked up by tests, rate and room, in words."""

import json

import pytest

from readiness.signal import chances as chances_module
from readiness.signal.chances import TABLE, Chance, chances, fault_in_words, key_of_tests, room_of
from readiness.signal.limits import METHOD_VERSION
from readiness.signal.simulator.faults import KIT_FAULTS
from readiness.signal.statistics.shares import Share

pytestmark = pytest.mark.any_database

THREE = ("still", "flex", "lift")


def test_the_stored_table_is_of_this_method_and_knows_every_fault_and_plan():
    stored = json.loads(TABLE.read_text(encoding="utf-8"))
    assert stored["method"] == METHOD_VERSION
    for key in ("still+flex+lift", "still+flex+lift+ground", "worn"):
        kinds = {label.partition(" ")[0] for label in stored["seen"][key]}
        assert kinds >= set(KIT_FAULTS)
        totals = [sum(t for _, t in rows.values()) for rows in stored["seen"][key].values()]
        assert min(totals) >= 30


def test_more_tests_never_see_an_open_lead_less():
    assert not chances((), 1024.0, 0.1)
    by_plan = [
        {chance.fault: chance.seen.value for chance in chances(plan, 1024.0, None)}
        for plan in (("still",), THREE)
    ]
    for lead in ("lead A", "lead B", "ground lead"):
        assert by_plan[1][f"an open {lead}"] >= by_plan[0][f"an open {lead}"]
    assert by_plan[1]["an open lead A"] > 0.9


def test_a_room_with_too_few_kits_is_judged_by_those_of_every_room(monkeypatch):
    rows = {"open_lead A": {"fast quiet": [29, 30], "slow loud": [1, 2]}}
    monkeypatch.setattr(chances_module, "table", lambda: {"seen": {"still+flex+lift": rows}})
    assert chances(THREE, 2048.0, 0.1) == (Chance("an open lead A", Share(29, 30)),)
    (few,) = chances(("lift", "still", "flex"), 500.0, 9.0)
    assert (few.seen, few.everywhere) == (Share(30, 32), True)
    assert (few.of_hundred, few.lowest, few.highest) == (93, 79, 100)


def test_rows_of_the_study_are_put_in_words():
    assert fault_in_words("open_lead ground") == "an open ground lead"
    assert fault_in_words("intermittent_lead B") == "a lead B that opens when bent"
    assert fault_in_words("new_kind") == "new kind"
    assert [room_of(hum) for hum in (0.1, 1.0, 30.0)] == ["quiet", "ordinary", "loud"]
    assert key_of_tests(("lift", "still")) == "still+lift"
