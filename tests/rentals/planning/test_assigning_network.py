"""Equal students and equal kits are one, and whole kits come out of the flow."""

import pytest

from rentals.planning.assigning_facts import Agreed, KitAhead, Level
from rentals.planning.assigning_network import Place, Source, build_network
from tests.rentals.planning.brute_force import day, need

pytestmark = pytest.mark.any_database

KITS = [KitAhead(f"K{n}", 1, day(0)) for n in range(3)]
NEEDS = [need(0, 0, 10), need(1, 0, 10), need(2, 12, 20)]


def test_equal_students_and_kits_are_grouped() -> None:
    network = build_network(KITS, NEEDS, [])
    assert [len(stop.needs) for stop in network.stops] == [2, 1]
    assert [source.kits for source in network.sources] == [("K0", "K1", "K2")]
    assert len(network.steps) == 3


def test_whoever_is_agreed_flows_apart_and_gets_the_kit_agreed() -> None:
    network = build_network(KITS, NEEDS, [Agreed(1, "K2")])
    assert sorted(source.kits for source in network.sources) == [("K0", "K1"), ("K2",)]
    taken = [int(isinstance(s.start, Source) and s.to.stop == 0) for s in network.steps]
    found = {given.who: given.code for given in network.hand_overs(taken)}
    assert found == {1: "K2", 0: "K0"}


def test_a_step_costs_what_it_says() -> None:
    network = build_network([KitAhead("K0", 1, day(0), 4)], NEEDS, [])
    onward = next(step for step in network.steps if isinstance(step.start, Place))
    assert network.slack_days(onward) == 2
    assert network.cost(Level.WEAR, onward) == 6**2 - 5**2
    assert network.cost(Level.SLACK, onward) == 12 * 13 // 2
    assert network.cost(Level.LATE, onward) == network.cost(Level.TO_DO, onward) == 0
