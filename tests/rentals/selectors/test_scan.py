"""What a scan means: codes first, then tracking numbers, names and serials; nothing is guessed."""

import pytest
from django.urls import reverse

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive, finish_check
from rentals.actions.settle import settle
from rentals.models import Part
from rentals.selectors.scan import Match, understand
from tests.factories import (
    CourseRunFactory,
    StudentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
    spare,
)
from tests.rentals.actions.acts import all_back

pytestmark = pytest.mark.django_db


def test_a_kits_code_says_where_it_is_and_leads_to_its_next_step():
    kit = assigned_loan().kit
    answer = understand(f"  {kit.code.lower()} ")
    assert answer.sentence == f"Kit {kit.code}, assigned."
    (match,) = answer.matches
    assert match.url == reverse("rentals:pack_kit", args=[kit.code])
    assert match.page == kit.get_absolute_url()


def test_a_parts_code_says_whether_it_is_in_a_kit():
    loose, fitted = spare("charger"), complete_kit().parts.get(kind="charger")
    assert understand(loose.code).sentence == f"Charger {loose.code}, spare."
    answer = understand(fitted.code)
    assert answer.sentence.endswith(f"in kit {fitted.kit.code}.")
    assert answer.matches[0].page == fitted.get_absolute_url()


def test_a_valid_code_that_nothing_carries_is_said():
    part = spare("charger")
    Part.objects.filter(pk=part.pk).update(code="P0")
    answer = understand(part.code)
    assert answer.matches == ()
    assert answer.sentence == f"{part.code} is a valid code, but nothing at this desk carries it."


def test_a_parcel_is_found_by_its_tracking_number_and_a_settled_one_leads_to_its_loan():
    loan = packed_loan()
    dispatch(loan.kit, tracking_number="RR 123 XY")
    (match,) = understand("rr123xy").matches
    assert match.url == reverse("rentals:receive_kit", args=[loan.kit.code])
    check = arrive(loan.kit)
    all_back(check)
    finish_check(check)
    settle(loan)
    (match,) = understand("RR 123 XY").matches
    assert match.url == loan.get_absolute_url()


def test_one_match_is_read_once(django_assert_num_queries):
    loan = dispatch(packed_loan().kit, tracking_number="AB 12")
    # Two counts, of parcels and of parts, and the parcel itself.
    with django_assert_num_queries(3):
        answer = understand("ab12")
        assert len(answer.matches) == 1
        assert answer.matches[0].what in answer.sentence
        assert answer.matches[0].code == loan.kit.code


def test_a_student_is_found_with_and_without_a_kit():
    loan, idle = assigned_loan(), StudentFactory(name="Zoe Idle", email="zoe@idle.example")
    (busy,) = understand(loan.enrolment.student.email).matches
    assert busy.code == loan.kit.code
    assert busy.url == reverse("rentals:student", args=[loan.enrolment.student_id])
    assert list(understand("ZOE@IDLE").matches) == [
        Match(reverse("rentals:student", args=[idle.pk]), "Zoe Idle", "no kit at the moment")
    ]


def test_students_and_runs_are_found_by_part_of_their_names():
    run = CourseRunFactory(name="Winter weeks")
    ada = StudentFactory(name="Ada Winterstone")
    answer = understand(" winter ")
    assert answer.sentence == "“winter” fits 2 entries."
    assert [match.url for match in answer.matches] == [
        ada.get_absolute_url(),
        run.get_absolute_url(),
    ]
    (alone,) = understand("weeks").matches
    assert (alone.url, alone.what) == (run.get_absolute_url(), "Winter weeks")
    assert alone.detail.startswith("run, ")


def test_many_matches_are_read_a_page_at_a_time(django_assert_max_num_queries):
    for number in range(30):
        StudentFactory(name=f"Viola {number:02d}")
    CourseRunFactory(name="Viola weeks")
    with django_assert_max_num_queries(7):
        matches = understand("viola").matches
        last_page = matches[20:40]
    assert len(matches) == 31
    assert [match.what for match in last_page][-2:] == ["Viola 29", "Viola weeks"]
    assert matches[30].what == "Viola weeks"
    with pytest.raises(IndexError):
        matches[31]


def test_a_serial_may_fit_several_parts():
    parts = [spare("charger", serial="TWIN-1"), spare("amplifier", serial="TWIN-1")]
    answer = understand("twin-1")
    assert answer.sentence == "“twin-1” fits 2 entries."
    assert {match.code for match in answer.matches} == {part.code for part in parts}


@pytest.mark.parametrize("text", ["", "  ", "\x00"])
def test_an_empty_scan_says_what_may_be_scanned(text):
    answer = understand(text)
    assert answer.matches == ()
    assert answer.sentence.startswith("Nothing was scanned.")


def test_what_is_nothing_is_refused_in_its_own_words():
    answer = understand("no such thing")
    assert answer.matches == ()
    assert answer.sentence.startswith("“no such thing” is no tracking number or serial")
    assert "stands in no name of a student or run" in answer.sentence


def test_a_word_that_is_nowhere_is_not_read_as_a_code():
    assert "As a code" not in understand("Parcel").sentence
    assert "As a code" in understand("K0014X").sentence
