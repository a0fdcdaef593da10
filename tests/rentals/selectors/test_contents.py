"""What a kit holds against its contents list."""

from __future__ import annotations

import pytest

from rentals.actions.register import remove_part
from rentals.selectors.contents import (
    NOT_TESTED,
    against_issuing,
    has_room_for,
    kit_contents,
    lacking_in,
    pieces_of,
)
from tests.factories import complete_kit

pytestmark = pytest.mark.django_db


def test_a_complete_kit_may_go_out_and_one_without_its_charger_may_not():
    kit = complete_kit()
    assert (lacking_in(kit), against_issuing(kit)) == ([], [])
    assert len(pieces_of(kit)) == 8
    assert not has_room_for(kit, "charger")

    remove_part(kit, kit.parts.get(kind="charger"), to="spare")
    kit.refresh_from_db()
    assert lacking_in(kit) == ["Charger is missing: fit a spare."]
    assert against_issuing(kit) == [kit.not_cleared_reason, *lacking_in(kit)]
    assert has_room_for(kit, "charger")
    contents = kit_contents(kit)
    assert [line.part_kind for line, part in contents.places if part is None] == ["charger"]
    assert [line.part_kind for line in contents.counted] == ["electrodes", "band", "box"]
    kit.not_cleared_reason = ""
    assert against_issuing(kit)[0] == NOT_TESTED
