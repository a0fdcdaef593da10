"""What the names of a wording stand for."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest

from rentals.paper.facts import Address, PracticeFacts
from rentals.post.facts import LackingPart, ListedPart, LoanFacts
from rentals.post.values import loan_values, part_name
from rentals.post.wording import NAMES

TODAY = date(2026, 5, 4)
LEADS = ListedPart("Lead set", serial="L-7")
CABLES = ListedPart("Charging cable", quantity=2)
GEL = ListedPart("Gel", comes_back=False)
FACTS = LoanFacts(
    practice=PracticeFacts(
        "Quiet Bow",
        instructor="Ida",
        address=Address("Quiet Bow", "Main Street 1", "Berlin", "10115", country="DE"),
    ),
    student="Viola  Tester",
    run="Spring",
    kit_code="K00017",
    due_on=TODAY + timedelta(days=5),
    post_by=TODAY,
    packed=(LEADS, CABLES, GEL),
)


def test_every_name_of_a_wording_has_a_value():
    assert set(loan_values(FACTS, today=TODAY)) == set(NAMES)


def test_what_comes_back_is_listed_apart_from_all_that_is_in_the_parcel():
    values = loan_values(FACTS, today=TODAY)
    assert values["contents"] == "- Lead set, serial L-7\n- 2 × Charging cable\n- Gel"
    assert values["to_return"] == "- Lead set, serial L-7\n- 2 × Charging cable"


def test_days_and_names_read_as_one_writes_them():
    values = loan_values(FACTS, today=TODAY)
    assert (values["student"], values["days"]) == ("Viola Tester", "in 5 days")
    assert values["sent_on"] == ""


def test_sums_of_nothing_stay_empty_and_others_are_written_as_on_the_statement():
    values = loan_values(replace(FACTS, deposit=Decimal("80.00")), today=TODAY)
    assert (values["deposit"], values["charged"]) == ("€80.00", "")


@pytest.mark.parametrize(
    ("missing", "sentence"),
    [
        (
            True,
            "Please look for it and post it to us in a padded envelope. A new one costs €90.00.",
        ),
        (False, "please tell us how it happened. A repair or a new one costs up to €90.00."),
    ],
)
def test_an_unsettled_shortfall_says_what_to_do_and_what_it_costs(missing, sentence):
    lack = LackingPart(LEADS, missing, Decimal(90), detail="lead B")
    values = loan_values(replace(FACTS, lacking=(lack,)), today=TODAY)
    assert values["shortfalls"].startswith("- Lead set, serial L-7: ")
    assert values["shortfalls"].endswith(sentence)
    assert "(lead B)" in values["shortfalls"]
    assert values["charges"] == ""


@pytest.mark.parametrize(
    ("facts", "name"),
    [
        ({"came_back": True}, "back_complete"),
        ({"came_back": True, "lacking": (LackingPart(LEADS, True, Decimal(9)),)}, "back_short"),
        ({"written_off": True, "lacking": (LackingPart(LEADS, True, Decimal(9)),)}, "not_back"),
    ],
)
def test_the_kit_stands_under_the_one_name_that_says_how_the_loan_ended(facts, name):
    values = loan_values(replace(FACTS, **facts), today=TODAY)
    ends = {end for end in ("back_complete", "back_short", "not_back") if values[end]}
    assert ends == {name}
    assert bool(values["back"]) == facts.get("came_back", False)


def test_how_and_until_when_to_pay_is_said_only_while_something_is_owed():
    practice = replace(FACTS.practice, payment="Account 12\nHarbour Bank")
    owing = replace(
        FACTS, practice=practice, to_pay=Decimal("35.01"), pay_by=TODAY + timedelta(days=14)
    )
    values = loan_values(owing, today=TODAY)
    assert (values["to_pay"], values["pay_by"]) == ("€35.01", "18 May 2026")
    assert values["how_to_pay"] == "Account 12\nHarbour Bank"
    values = loan_values(
        replace(owing, to_pay=Decimal(0), paid=Decimal("35.01"), balance_paid_on=TODAY), today=TODAY
    )
    assert (values["paid"], values["paid_on"]) == ("€35.01", "4 May 2026")
    assert values["to_pay"] == values["pay_by"] == values["how_to_pay"] == ""
    values = loan_values(replace(owing, to_pay=Decimal(0), refund=Decimal(5)), today=TODAY)
    assert (values["refund_due"], values["paid_back_on"], values["pay_by"]) == ("€5.00", "", "")


def test_a_charged_shortfall_stands_among_the_charges_alone():
    lack = LackingPart(CABLES, True, Decimal(9), unsettled=False, charged=True)
    values = loan_values(replace(FACTS, lacking=(lack,)), today=TODAY)
    assert (values["charges"], values["shortfalls"]) == ("- 2 × Charging cable: €9.00", "")


def test_the_practice_s_address_names_its_country_only_abroad():
    at_home = loan_values(replace(FACTS, student_country="DE"), today=TODAY)
    abroad = loan_values(replace(FACTS, student_country="FR"), today=TODAY)
    assert "BERLIN" in at_home["practice_address"]
    assert len(abroad["practice_address"]) > len(at_home["practice_address"])


def test_a_practice_without_an_address_has_none_to_write():
    facts = replace(FACTS, practice=PracticeFacts("Quiet Bow"))
    assert loan_values(facts, today=TODAY)["practice_address"] == ""


def test_a_part_s_count_is_written_where_it_is_more_than_one():
    assert part_name(LEADS) == "Lead set, serial L-7"
    assert part_name(CABLES) == "2 × Charging cable"


def test_dates_sums_and_phrases_are_those_of_the_letters_language():
    german = replace(
        FACTS,
        practice=replace(FACTS.practice, locale="de"),
        phrases={"part_serial": "{part}, Nr. {serial}", "missing_part": "{part} fehlt."},
        deposit=Decimal("1080.50"),
        lacking=(LackingPart(LEADS, True, Decimal(90)),),
    )
    values = loan_values(german, today=TODAY)
    assert (values["due"], values["days"]) == ("9. Mai 2026", "in 5 Tagen")
    assert values["deposit"] == "1.080,50\xa0€"
    assert values["shortfalls"] == "- Lead set, Nr. L-7 fehlt."
