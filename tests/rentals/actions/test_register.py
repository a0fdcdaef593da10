"""A changed kit is another kit."""

import pytest

from rentals.actions.register import swap_part
from tests.factories import complete_kit, spare

pytestmark = pytest.mark.django_db


def test_changing_a_part_takes_the_clearance_away():
    kit = complete_kit()
    swap_part(kit, kit.parts.get(kind="lead_set"), spare("lead_set"))
    kit.refresh_from_db()
    assert (kit.state, kit.cleared) == ("bench", False)
    assert "test the kit" in kit.not_cleared_reason
