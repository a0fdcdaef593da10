"""A part's own page: what is next with it, and the facts of its kind alone."""

import pytest

from rentals.selectors.part_page import part_page
from tests.factories import complete_kit, spare

pytestmark = pytest.mark.django_db

FACTS = ("leads", "pack", "key", "amplifier")


@pytest.mark.parametrize(
    ("kind", "fact"),
    [
        ("lead_set", "leads"),
        ("battery_pack", "pack"),
        ("licence_key", "key"),
        ("amplifier", "amplifier"),
        ("charger", None),
    ],
)
def test_a_part_shows_the_facts_of_its_kind_and_of_no_other(kind, fact):
    page = part_page(spare(kind))
    assert [name for name in FACTS if getattr(page, name)] == ([fact] if fact else [])


def test_a_spare_says_that_it_waits_and_a_fitted_part_leads_to_its_kit():
    waiting = part_page(spare("charger"))
    assert waiting.next is None and "spare" in waiting.waits
    kit = complete_kit()
    fitted = part_page(kit.parts.first())
    assert fitted.waits == "" and fitted.next.act == f"Open kit {kit.code}"
    assert fitted.events.exists()
