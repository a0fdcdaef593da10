import pytest

from rentals.models import LeadSet, Loan
from rentals.paper.address_labels import address_labels
from rentals.paper.labels import kit_labels, lead_tags, part_labels
from rentals.selectors.paper_facts.labels import address_label_facts, kit_label, part_label
from rentals.selectors.paper_facts.labels import lead_tags as lead_tag_facts
from rentals.selectors.paper_facts.practice import practice_facts
from tests.factories import (
    complete_kit,
    packed_loan,
)
from tests.rentals.paper.reading import codes_in, picture, text_of

pytestmark = pytest.mark.django_db


def test_labels_of_rows_carry_their_codes_and_the_sites_address(practice):
    kit = complete_kit()
    desk = practice_facts()
    lead_set = LeadSet.objects.get(kit=kit)
    sheets = (
        (kit_labels, [kit_label(kit, desk)], kit.code),
        (
            part_labels,
            [part_label(part, desk) for part in kit.parts.all()[:1]],
            kit.parts.first().code,
        ),
        (lead_tags, lead_tag_facts(lead_set, desk)[:1], lead_set.code),
    )
    for make, facts, code in sheets:
        assert codes_in(picture(make(facts).pdf)) == [f"HTTPS://KITS.EASE.EXAMPLE/S/{code}"]


def test_a_lead_set_has_a_tag_for_each_of_its_leads(practice):
    tags = lead_tag_facts(LeadSet.objects.get(kit=complete_kit()), practice_facts())
    assert sorted(tag.title for tag in tags) == ["active A", "active B", "ground"]


def test_the_address_label_has_the_parcels_mass_and_none_is_made_without_an_address(practice):
    loan = packed_loan()
    facts = address_label_facts(loan)
    assert facts is not None
    assert facts.mass_g == (
        loan.parcel_mass_g or sum(li.quantity * li.mass_g for li in loan.packing_lines.all())
    )
    text = text_of(address_labels([facts]).pdf)
    assert loan.enrolment.student.street in text
    assert "GERMANY" not in text
    student = loan.enrolment.student
    student.street = student.city = ""
    student.save()
    assert address_label_facts(Loan.objects.get(pk=loan.pk)) is None
