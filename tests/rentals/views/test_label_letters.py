"""Which letters of labels the fonts lack is told without making the labels."""

import pytest
from django.urls import reverse

from rentals.models import Lead, Part
from rentals.selectors.labels import printing
from tests.factories import KitTypeFactory, complete_kit

pytestmark = pytest.mark.django_db


def test_the_page_that_asks_makes_no_label_to_look_at_its_letters(signed_in, monkeypatch):
    def made(*args):
        raise AssertionError("a label was made")

    kit = complete_kit(KitTypeFactory(name="Kit 🎻"))
    part = kit.parts.exclude(kind="lead_set").first()
    Part.objects.filter(pk=part.pk).update(serial="S 🎺")
    Lead.objects.filter(lead_set__kit=kit, role="A").update(colour="🟥")

    def asked(kind):
        found = signed_in.get(reverse("rentals:labels"), {"kind": kind, "kit": kit.code})
        return found.content.decode()

    for label in ("kit_label", "part_label", "lead_tags"):
        monkeypatch.setattr(printing, label, made)
    assert "<li>Kit 🎻 (U+1F3BB)</li>" in asked("kit")
    for kind in ("part", "lead"):
        page = asked(kind)
        assert "<li>🟥 (U+1F7E5)</li>" in page
        assert ("S 🎺" in page.partition("checklist")[0]) == (kind == "part")
