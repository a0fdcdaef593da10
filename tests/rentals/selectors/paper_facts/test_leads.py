import pytest

from rentals.models import LeadSet, Part
from rentals.selectors.paper_facts.leads import leads_in_words
from tests.factories import complete_kit

pytestmark = pytest.mark.django_db


def test_a_set_names_role_and_colour_of_each_lead_and_no_other_part_does():
    kit = complete_kit()
    lead_set = LeadSet.objects.get(kit=kit)
    for lead, colour in zip(lead_set.leads.order_by("role"), ("red", "", "black"), strict=True):
        lead.colour = colour
        lead.save()
    part = Part.objects.get(pk=lead_set.pk)
    assert leads_in_words(part) == "active A red, active B, ground black"
    assert leads_in_words(kit.parts.exclude(pk=lead_set.pk).first()) == leads_in_words(None) == ""
