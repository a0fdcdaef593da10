"""The shortcut of the factories writes what the real acts write."""

import pytest
from django.forms import model_to_dict

from rentals.actions.register import fit_part, register_kit
from rentals.models import Kit
from rentals.verify import verify
from tests.factories import KitTypeFactory, complete_kit, packed_loan, spare

pytestmark = pytest.mark.django_db

OF_EACH_KIT = {"id", "code", "last_hash"}


def row(kit: Kit) -> dict[str, object]:
    kit.refresh_from_db()
    return {name: value for name, value in model_to_dict(kit).items() if name not in OF_EACH_KIT}


def history(kit: Kit) -> list[tuple[str, str]]:
    """Verbs and texts without codes and serials, which differ from kit to kit."""
    names = [kit.code, *kit.parts.values_list("code", flat=True)]
    names += kit.parts.values_list("serial", flat=True)
    lines = []
    for event in kit.events.order_by("number"):
        text = event.text
        for name in names:
            text = text.replace(name, "_")
        lines.append((event.verb, text))
    return lines


def test_a_complete_kit_is_as_if_each_part_had_been_fitted():
    kit_type = KitTypeFactory()
    quick = complete_kit(kit_type, cleared=False)
    kit = register_kit(kit_type)
    for line in kit_type.lines.filter(tracked_by="serial"):
        fit_part(kit, spare(line.part_kind))
    assert row(quick) == row(kit)
    assert history(quick) == history(kit)
    places = {part.place for part in quick.parts.all()}
    assert places == {part.place for part in kit.parts.all()} == {"fitted"}


def test_a_packed_loan_stands_the_check_of_all_histories():
    packed_loan()
    assert verify() == []
