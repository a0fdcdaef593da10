"""What a fleet's table is judged against is read in a fixed number of queries."""

import pytest

from rentals.actions.issue import retire
from rentals.actions.register import register_kit
from rentals.roster.fleet_table import fleet_table
from rentals.roster.text_table import read_pasted
from rentals.selectors.fleet import fleet_on_file
from tests.factories import KitTypeFactory, complete_kit, packed_loan, spare

pytestmark = pytest.mark.django_db


def test_parts_kits_and_names_that_the_table_speaks_of(django_assert_num_queries) -> None:
    kit_type = KitTypeFactory()
    full, away = complete_kit(kit_type), packed_loan().kit
    named, gone = register_kit(kit_type, note="Blue"), register_kit(kit_type, note="blue")
    retire(gone, reason="Worn out.")
    spare("charger", "C-9")
    register_kit(kit_type, note="red")
    rows = [f"{full.code.lower()};amp;x", f"{away.code};amp;y", "BLUE;charger;c-9", ";amp;none"]
    table = fleet_table(read_pasted("\n".join(["Kit;Kind;Serial", *rows])), {})
    with django_assert_num_queries(6):
        on_file = fleet_on_file(table, kit_type)
    assert set(on_file.kits) == {full.code, away.code, named.code}
    assert on_file.named == {"blue": [named.code]}
    assert on_file.kits[full.code].free["charger"] == 0
    assert on_file.kits[named.code].free["charger"] == 1
    assert on_file.kits[full.code].may_change and not on_file.kits[away.code].may_change
    assert on_file.free["lead_set"] == 1 and on_file.own_names["lead set"] == "lead_set"
    ((key, part),) = on_file.parts.items()
    assert key == ("charger", "c-9") and part.sound_spare
