import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from rentals.models import Lead, Loan, PackingLine, Student
from rentals.paper.contents_rows import LOOSE
from rentals.paper.packing_list import packing_list
from rentals.paper.pick_sheet import run_papers
from rentals.paper.statement import settling_statement
from rentals.planning.contents import by_inner_bag
from rentals.selectors.paper_facts.packing_lists import (
    packing_list_facts,
    run_facts,
    students_list_facts,
    with_all_facts,
)
from rentals.selectors.paper_facts.statements import statement_facts
from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    assigned_loan,
    complete_kit,
    packed_loan,
)
from tests.rentals.paper.reading import page_texts, text_of

pytestmark = pytest.mark.django_db


def test_a_packed_loan_prints_its_frozen_list(practice):
    loan = packed_loan()
    facts = packing_list_facts(loan)
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
        *by_inner_bag(facts.lines, LOOSE),
    ):
        assert part in text
    for line in saved:
        assert line.serial in text


def test_an_override_reaches_the_inside_copy_with_who_gave_it(practice, owner):
    loan = packed_loan()
    Loan.objects.filter(pk=loan.pk).update(override_reason="Only kit left.", overridden_by=owner)
    loan.refresh_from_db()
    text = text_of(packing_list(packing_list_facts(loan), inside_copy=True).pdf)
    assert "Only kit left." in text
    assert "Packed without clearance (Ada)" in text


def test_role_and_colour_of_each_lead_stand_under_their_set(practice):
    loan = packed_loan()
    Lead.objects.filter(lead_set__kit=loan.kit, role="A").update(colour="red")
    for lines_are_frozen in (True, False):
        if not lines_are_frozen:
            loan.packing_lines.all().delete()
        (leads,) = filter(None, (line.leads for line in packing_list_facts(loan).lines))
        assert leads.startswith("active A red, active B")
    text = text_of(packing_list(packing_list_facts(loan)).pdf)
    assert "active A red" in text


def test_before_a_list_is_drawn_up_it_says_what_the_kit_is_to_contain(practice):
    loan = assigned_loan()
    loan.packing_lines.all().delete()
    facts = packing_list_facts(loan)
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
            pdf = run_papers(run_facts(run)).pdf
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


def test_students_get_their_language_and_the_house_keeps_english(practice):
    loan = packed_loan()
    Student.objects.update(language="de")
    PackingLine.objects.filter(loan=loan, part_kind="charger").update(name="Charger")
    loan = with_all_facts(Loan.objects.all()).get()
    german = text_of(packing_list(students_list_facts(loan)).pdf)
    assert "Packliste" in german and "Ladegerät" in german and "aktiv A" in german
    inside = text_of(packing_list(packing_list_facts(loan), inside_copy=True).pdf)
    assert "Packing list" in inside and "active A" in inside and "Ladegerät" not in inside
    run = loan.enrolment.run
    pick_sheet, list_of_student = page_texts(run_papers(run_facts(run)).pdf)
    assert "Pick sheet" in pick_sheet and "Packliste" in list_of_student
    kept = run_papers(run_facts(run, inside_copy=True), inside_copy=True).pdf
    assert "Packliste" not in text_of(kept)
    statement = text_of(settling_statement(statement_facts(loan)).pdf)
    assert "Abrechnung" in statement
