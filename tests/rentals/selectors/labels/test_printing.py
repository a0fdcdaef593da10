import pytest

from rentals.models import LeadSet, Practice, Student
from rentals.selectors.labels.printing import (
    LabelCount,
    count_labels,
    label_texts,
    labels_to_print,
)
from rentals.selectors.labels.selection import LabelSelection
from rentals.selectors.paper_facts.practice import practice_facts
from tests.factories import assigned_loan, complete_kit

pytestmark = pytest.mark.django_db

ALL_KINDS = ("kit", "part", "lead", "address", "return")


@pytest.fixture
def practice() -> Practice:
    desk = Practice.current()
    desk.street, desk.city, desk.country = "Hall 1", "Rosinburg", "DE"
    desk.save()
    return desk


@pytest.mark.parametrize("kind", ALL_KINDS)
def test_as_many_labels_are_made_as_were_counted(practice, kind):
    assigned_loan()
    assigned_loan()
    selection, sender = LabelSelection(kind), practice_facts(practice)
    labels = labels_to_print(selection, sender)
    assert len(labels) == count_labels(selection, sender).printed > 0
    assert set(label_texts(selection, sender))


def test_a_set_of_leads_has_a_tag_for_each_lead(practice):
    leads = LeadSet.objects.get(kit=complete_kit()).leads.count()
    assert count_labels(LabelSelection("lead"), practice_facts(practice)).labels == leads == 3


def test_a_parcel_without_an_address_gets_none_and_its_student_is_named(practice):
    loan = assigned_loan()
    Student.objects.filter(pk=loan.enrolment.student_id).update(street="", city="")
    selection, sender = LabelSelection("address"), practice_facts(practice)
    assert labels_to_print(selection, sender) == []
    assert count_labels(selection, sender) == LabelCount(0, (loan.enrolment.student.name,))


def test_without_an_address_to_send_back_to_there_is_no_return_label():
    assigned_loan()
    selection, sender = LabelSelection("return"), practice_facts()
    assert sender.address is None
    assert count_labels(selection, sender) == LabelCount(0)
    assert labels_to_print(selection, sender) == []


def test_more_than_are_printed_at_once_are_cut():
    assert (LabelCount(1000).cut, LabelCount(1001).cut) == (False, True)
    assert LabelCount(1001).printed == 1000
