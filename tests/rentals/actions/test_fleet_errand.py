"""A long table of a fleet: asked for as it was seen, registered kit by kit."""

import pytest

from rentals.actions.fleet_errand import ask_fleet, rows_together
from rentals.errors import Refused
from rentals.models import Errand
from rentals.roster.fleet_rows import fingerprint, judge_fleet
from rentals.roster.fleet_table import FleetTable, fleet_table
from rentals.roster.text_table import read_pasted
from rentals.selectors.fleet import fleet_on_file
from tests.factories import KitTypeFactory, complete_kit, spare
from tests.rentals.errands import queued

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("nobody_works")]


def _table(*rows: str) -> FleetTable:
    return fleet_table(read_pasted("\n".join(["Kit;Kind;Serial", *rows])), {})


def test_rows_of_a_kit_go_together_and_spares_a_few_at_a_time():
    kit = complete_kit()
    spares = [f";amp;S{n:02}" for n in range(13)]
    table = _table("Blue;amp;A1", f"{kit.code};charger;C1", "blue;charger;C2", *spares)
    parts = rows_together(judge_fleet(table, fleet_on_file(table, kit.kit_type)))
    assert [len(part) for part in parts] == [2, 1, 10, 3]
    assert parts[0] == {table.rows[0].number, table.rows[2].number}
    assert set().union(*parts) == {row.number for row in table.rows}


def test_it_is_asked_for_once_as_it_was_seen_and_refused_where_a_row_is_in_the_way(owner):
    kit_type, table = KitTypeFactory(), _table("Blue;amp;A1", ";amp;A2")
    seen = fingerprint(judge_fleet(table, fleet_on_file(table, kit_type)))
    errand = ask_fleet(table, kit_type, typed={"rows": "x"}, seen=seen, actor=owner)
    assert errand.title == "1 kit from a table of 2 rows" and errand.asked_by == owner
    assert errand.facts == {"typed": {"rows": "x"}} and queued() == [errand.pk]
    spare("amplifier", "A2")
    with pytest.raises(Refused):
        ask_fleet(table, kit_type, typed={}, seen=seen, actor=owner)
    assert Errand.objects.get() == errand
