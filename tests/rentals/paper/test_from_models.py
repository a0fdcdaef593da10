from datetime import UTC, datetime
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from rentals.actions.dispatch import dispatch
from rentals.actions.settle import settle
from rentals.models import LeadSet, Loan, Practice, Shortfall
from rentals.paper import from_models
from rentals.paper.address_labels import address_labels
from rentals.paper.contents_rows import by_inner_bag
from rentals.paper.labels import kit_labels, lead_tags, part_labels
from rentals.paper.packing_list import packing_list
from rentals.paper.pick_sheet import run_papers
from rentals.paper.statement import settling_statement
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)

from .reading import codes_in, page_texts, picture, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def practice() -> Practice:
    desk = Practice.current()
    desk.name, desk.email, desk.street, desk.city = (
        "Ease at the Instrument",
        "desk@ease.example",
        "Hall 1",
        "Rosinburg",
    )
    desk.postcode, desk.country, desk.site_url = "12345", "DE", "https://kits.ease.example"
    desk.save()
    return desk


def test_a_packed_loan_prints_its_frozen_list(practice):
    loan = packed_loan()
    facts = from_models.packing_list_facts(loan)
    saved = list(loan.packing_lines.all())
    assert [(line.name, line.quantity, line.serial) for line in facts.lines] == [
        (line.name, line.quantity, line.serial) for line in saved
    ]
    assert next(line.batch for line in facts.lines if line.used_up).startswith("G")
    text = text_of(packing_list(facts).pdf)
    for part in (
        loan.enrolment.student.name,
        loan.enrolment.run.name,
        "desk@ease.example",
        *by_inner_bag(facts.lines),
    ):
        assert part in text
    for line in saved:
        assert line.serial in text


def test_an_override_reaches_the_inside_copy_with_who_gave_it(practice, owner):
    loan = packed_loan()
    Loan.objects.filter(pk=loan.pk).update(override_reason="Only kit left.", overridden_by=owner)
    loan.refresh_from_db()
    text = text_of(packing_list(from_models.packing_list_facts(loan), inside_copy=True).pdf)
    assert "Only kit left." in text
    assert "Packed without clearance (Ada)" in text


def test_before_packing_the_list_says_what_the_kit_is_to_contain(practice):
    loan = assigned_loan()
    assert not loan.packing_lines.exists()
    facts = from_models.packing_list_facts(loan)
    codes = set(loan.kit.parts.values_list("code", flat=True))
    assert {line.part_code for line in facts.lines if line.part_code} == codes
    assert sum(line.quantity for line in facts.lines if line.used_up) == 24


def test_a_run_is_all_its_open_loans_by_kit_and_the_queries_do_not_grow(practice):
    run = CourseRunFactory()
    kits = [complete_kit(run.kit_type) for _ in range(4)]
    assigned_loan(kits[0], EnrolmentFactory(run=run))
    packed_loan(kits[1], EnrolmentFactory(run=run))

    def printed() -> tuple[list[str], int]:
        with CaptureQueriesContext(connection) as queries:
            pdf = run_papers(from_models.run_facts(run)).pdf
        return page_texts(pdf), len(queries)

    texts, few = printed()
    assert len(texts) == 3
    for kit in kits[2:]:
        packed_loan(kit, EnrolmentFactory(run=run))
    texts, more = printed()
    assert len(texts) == 5
    assert more == few
    assert "4 parcels" in texts[0]
    assert "Shelf B2" in texts[0]


def test_labels_of_rows_carry_their_codes_and_the_sites_address(practice):
    kit = complete_kit()
    desk = from_models.practice_facts()
    lead_set = LeadSet.objects.get(kit=kit)
    sheets = (
        (kit_labels, [from_models.kit_label(kit, desk)], kit.code),
        (
            part_labels,
            [from_models.part_label(part, desk) for part in kit.parts.all()[:1]],
            kit.parts.first().code,
        ),
        (lead_tags, from_models.lead_tags(lead_set, desk)[:1], lead_set.code),
    )
    for make, facts, code in sheets:
        assert codes_in(picture(make(facts).pdf)) == [f"HTTPS://KITS.EASE.EXAMPLE/S/{code}"]


def test_a_lead_set_has_a_tag_for_each_of_its_leads(practice):
    tags = from_models.lead_tags(
        LeadSet.objects.get(kit=complete_kit()), from_models.practice_facts()
    )
    assert sorted(tag.title for tag in tags) == ["active A", "active B", "ground"]


def test_the_address_label_has_the_parcels_mass_and_none_is_made_without_an_address(practice):
    loan = packed_loan()
    facts = from_models.address_label_facts(loan)
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
    assert from_models.address_label_facts(Loan.objects.get(pk=loan.pk)) is None


def test_the_statement_lists_the_loans_shortfalls(practice):
    loan = packed_loan()
    dispatch(loan.kit)
    loan.refresh_from_db()
    line = loan.packing_lines.get(part_kind="licence_key")
    now = datetime(2027, 7, 2, 9, tzinfo=UTC)
    Shortfall.objects.create(
        loan=loan,
        packing_line=line,
        kind="missing",
        amount=Decimal(30),
        state="charged",
        opened_at=now,
        closed_at=now,
    )
    text = text_of(settling_statement(from_models.statement_facts(loan)).pdf)
    assert "Licence key 1 missing, charged -€30.00" in text
    assert "as of" in text and "To be paid back to you €50.00" in text
    loan.stage = "returned"
    loan.save()
    loan = settle(loan, at=datetime(2031, 5, 6, 9, tzinfo=UTC))
    text = text_of(settling_statement(from_models.statement_facts(loan)).pdf)
    assert "settled on 6 May 2031" in text
    assert "be paid back" not in text and "Paid back to you €50.00" in text


def test_an_untouched_practice_prints_with_the_settings_site_address(settings):
    settings.SITE_URL = "https://desk.example"
    desk = from_models.practice_facts()
    assert desk.site_url == "https://desk.example"
    assert desk.address is None
    assert (
        codes_in(picture(packing_list(from_models.packing_list_facts(assigned_loan())).pdf)) != []
    )


def test_the_practices_own_font_files_come_from_the_settings(settings, tmp_path):
    settings.KITDESK_FONTS = [str(tmp_path / "lacking.ttf")]
    with pytest.raises(ValueError, match=r"lacking\.ttf cannot be used"):
        from_models.fonts()
    settings.KITDESK_FONTS = []
    assert from_models.fonts().width("a", 10) > 0
