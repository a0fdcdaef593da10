"""The papers of one loan and of one run: which are offered when, and what they say."""

import re
from datetime import UTC, datetime
from decimal import Decimal

import pytest
from django.urls import reverse

from rentals import transaction
from rentals.actions.dispatch import dispatch
from rentals.actions.pack import pack, tick
from rentals.actions.packing_list import draw_up, list_hash
from rentals.actions.receive import write_off
from rentals.actions.settle import charge, settle
from rentals.models import ContentsLine, Loan, Practice, Student
from rentals.verify import verify
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)
from tests.rentals.paper.reading import codes_in, page_texts, picture, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def practice() -> Practice:
    desk = Practice.current()
    desk.name, desk.street, desk.city, desk.postcode, desk.country = (
        "Ease",
        "Hall 1",
        "Rosinburg",
        "12345",
        "DE",
    )
    desk.save()
    return desk


def move_to(loan: Loan, country: str, postcode: str = "") -> None:
    Student.objects.filter(pk=loan.enrolment.student_id).update(country=country, postcode=postcode)


def page(client, name: str, *args: object) -> str:
    answer = client.get(reverse(f"rentals:{name}", args=args))
    assert answer.status_code == 200
    return answer.content.decode()


# Customs areas: Regulation (EU) 952/2013 article 4 (the EU's customs territory is one; the Canary
# Islands belong to it, but post there needs customs papers for tax: from memory); Switzerland and
# the United Kingdom are outside.
@pytest.mark.parametrize(
    ("country", "postcode", "needed"),
    [
        ("DE", "10115", False),
        ("FR", "75001", False),
        ("CH", "8001", True),
        ("GB", "N1 9GU", True),
        ("ES", "35001", True),
    ],
)
def test_the_contents_statement_is_offered_exactly_when_the_parcel_leaves_the_customs_area(
    signed_in, practice, country, postcode, needed
):
    loan = assigned_loan()
    move_to(loan, country, postcode)
    link = reverse("rentals:loan_contents_statement", args=[loan.pk])
    assert (link in page(signed_in, "pack_kit", loan.kit.code)) is needed
    for line in draw_up(loan.kit).packing_lines.all():
        tick(line)
    pack(loan.kit)
    assert (link in page(signed_in, "pack_kit", loan.kit.code)) is needed
    assert (link in page(signed_in, "loan", loan.pk)) is needed


def test_without_an_own_address_nobody_can_tell_and_none_is_offered(signed_in):
    loan = packed_loan()
    move_to(loan, "CH", "8001")
    assert "contents-statement" not in page(signed_in, "loan", loan.pk)


def test_the_contents_statement_has_origin_value_and_the_weighed_mass(signed_in, practice):
    kit = complete_kit()
    ContentsLine.objects.filter(kit_type=kit.kit_type, part_kind="amplifier").update(origin="JP")
    loan = packed_loan(kit)
    move_to(loan, "CH", "8001")
    Loan.objects.filter(pk=loan.pk).update(parcel_mass_g=1200)
    text = text_of(
        signed_in.get(reverse("rentals:loan_contents_statement", args=[loan.pk])).content
    )
    assert re.search(r"Amplifier not known 1 0\.180 €240\.00 €240\.00 Japan", text)
    # By hand: serial parts 180 + 12 + 60 + 30 + 90, 24 electrodes of 2 g, 2 bands of 15 g, box 210
    # g.
    parts = 180 + 12 + 60 + 30 + 90 + 24 * 2 + 2 * 15 + 210
    assert f"Wrapping {(1200 - parts) / 1000:.3f}" in text and "1.200" in text
    assert "temporary, will be returned" in text
    assert "SWITZERLAND" in text and "GERMANY" in text


def test_the_origin_is_copied_at_packing_and_stays_out_of_the_frozen_hash(signed_in):
    kit = complete_kit()
    lines = ContentsLine.objects.filter(kit_type=kit.kit_type)
    form = {
        "part_kind": "amplifier",
        "name": "Amplifier",
        "quantity": 1,
        "tracked_by": "serial",
        "comes_back": "on",
        "replacement_price": "240",
        "mass_g": 180,
        "origin": "JP",
    }
    signed_in.post(
        reverse("rentals:contents_line", args=[lines.get(part_kind="amplifier").pk]), form
    )
    loan = packed_loan(kit)
    line = loan.packing_lines.get(part_kind="amplifier")
    assert line.origin == "JP"
    line.origin = "KR"
    with transaction.atomic():
        line.save()
    assert list_hash(loan.packing_lines.all()) == Loan.objects.get(pk=loan.pk).packing_list_hash
    assert list(verify()) == []


def test_a_list_drawn_up_earlier_goes_out_with_the_facts_of_the_day_and_keeps_its_ticks():
    loan = assigned_loan()
    for line in draw_up(loan.kit).packing_lines.all():
        tick(line)
    ContentsLine.objects.filter(kit_type=loan.kit.kit_type, part_kind="charger").update(
        replacement_price=Decimal(31), origin="CH"
    )
    pack(loan.kit)
    line = loan.packing_lines.get(part_kind="charger")
    assert (line.replacement_price, line.origin) == (Decimal(31), "CH")


def test_a_country_that_is_none_is_said_on_the_loan_page(signed_in, practice):
    loan = packed_loan()
    ContentsLine.objects.all().update(origin="QQ")
    loan.packing_lines.update(origin="QQ")
    answer = signed_in.get(reverse("rentals:loan_contents_statement", args=[loan.pk]), follow=True)
    assert answer.redirect_chain[0][0] == loan.get_absolute_url()
    assert "QQ" in answer.content.decode() and "is not a country code" in answer.content.decode()


def test_labels_are_offered_on_the_way_out_only_and_with_an_address(signed_in, practice):
    loan = packed_loan()
    for name, arg in (("pack_kit", loan.kit.code), ("loan", loan.pk)):
        shown = page(signed_in, name, arg)
        assert (
            f"kind=address&amp;loan={loan.pk}" in shown
            and f"kind=return&amp;loan={loan.pk}" in shown
        )
    Student.objects.update(street="", city="")
    assert "kind=address" not in page(signed_in, "loan", loan.pk)
    assert "kind=return" in page(signed_in, "loan", loan.pk)


@pytest.mark.parametrize(
    ("currency", "charged", "back"),
    # ISO 4217: the yen has no smaller unit, the Kuwaiti dinar has three decimals.
    [("EUR", "€30.46", "€49.54"), ("JPY", "JP¥30", "JP¥50"), ("KWD", "KWD30.456", "KWD49.544")],
)
def test_the_settling_statement_rounds_by_the_currency(
    signed_in, practice, currency, charged, back
):
    Practice.objects.update(currency=currency)
    loan = packed_loan()
    statement = reverse("rentals:loan_statement", args=[loan.pk])
    assert signed_in.get(statement).status_code == 404
    assert statement not in page(signed_in, "loan", loan.pk)
    dispatch(loan.kit)
    write_off(loan.kit, reason="never came back")
    loan.refresh_from_db()
    first, *others = loan.shortfalls.all()
    charge(first, Decimal("30.456"))
    assert statement in page(signed_in, "loan", loan.pk)
    text = text_of(signed_in.get(statement).content)
    assert "as of" in text and f"Tobepaidbackifnothingmoreischarged{back}" in text.replace(" ", "")
    assert "not settled yet" in text
    for short in others:
        charge(short, Decimal(0))
    settle(loan, at=datetime(2031, 5, 6, 9, tzinfo=UTC))
    text = text_of(signed_in.get(statement).content)
    assert "settled on 6 May 2031" in text
    assert f"-{charged}Tobepaidbacktoyou{back}" in text.replace(" ", "")


def test_what_cannot_be_printed_is_said_on_the_pages_that_offer_it(
    signed_in, practice, no_fonts_found
):
    loan = assigned_loan()
    Student.objects.update(name="Mila 🎻", city="王小明市")
    named = ("<li>Mila 🎻 (U+1F3BB)</li>", "<li>王小明市</li>")
    run = loan.enrolment.run
    for name, arg in (("pack_kit", loan.kit.code), ("run", run.pk), ("loan", loan.pk)):
        shown = page(signed_in, name, arg)
        assert all(text in shown for text in named), name
    lists = signed_in.get(reverse("rentals:run_packing_lists", args=[run.pk]))
    assert int(lists["X-Unprintable"]) >= 1
    Student.objects.update(name="Łucja Żak", city="Øvre Årdal")
    for name, arg in (("pack_kit", loan.kit.code), ("run", run.pk), ("loan", loan.pk)):
        assert "Cannot be printed" not in page(signed_in, name, arg)
    assert "X-Unprintable" not in signed_in.get(reverse("rentals:run_packing_lists", args=[run.pk]))


def test_the_papers_of_a_run_carry_the_address_that_phones_reach(signed_in, practice):
    run = CourseRunFactory()
    loans = [assigned_loan(complete_kit(run.kit_type), EnrolmentFactory(run=run)) for _ in range(2)]
    links = page(signed_in, "run", run.pk)
    address = reverse("rentals:run_packing_lists", args=[run.pk])
    assert (
        address in links
        and f"kind=address&amp;run={run.pk}" in links
        and f"kind=return&amp;run={run.pk}" in links
    )
    pdf = signed_in.get(address, headers={"host": "testserver"}).content
    texts = page_texts(pdf)
    assert "2 parcels" in texts[0] and len(texts) == 3
    assert codes_in(picture(pdf, 1)) == [f"HTTP://TESTSERVER/S/{loans[0].kit.code}"]


def test_printing_a_run_takes_the_same_queries_for_few_and_many(
    signed_in, django_assert_max_num_queries
):
    run = CourseRunFactory()

    def more(count: int) -> None:
        for _ in range(count):
            packed_loan(complete_kit(run.kit_type), EnrolmentFactory(run=run))

    address = reverse("rentals:run_packing_lists", args=[run.pk])
    more(2)
    with django_assert_max_num_queries(25) as few:
        assert signed_in.get(address).status_code == 200
    more(4)
    with django_assert_max_num_queries(len(few.captured_queries)):
        assert signed_in.get(address).status_code == 200
