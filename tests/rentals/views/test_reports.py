"""The pages of reports and their files."""

import csv
import io

import openpyxl
import pytest
from django.urls import reverse

from rentals.views.reports import REPORTS
from tests.rentals.selectors.reports.ended import ended_loan

pytestmark = pytest.mark.django_db


def _text(answer) -> str:
    return answer.content.decode().replace("\u00a0", " ")


def _csv(answer) -> list[dict[str, str]]:
    lines = answer.getvalue().decode("utf-8-sig").splitlines()
    return list(csv.DictReader(lines))


def test_every_question_has_a_page_and_an_empty_desk_says_what_will_stand_there(signed_in):
    index = _text(signed_in.get(reverse("rentals:reports")))
    for name, (shown, beside) in REPORTS.items():
        assert f'href="{shown.url}"' in index, name
        page = _text(signed_in.get(shown.url))
        assert "Nothing in these days yet" in page
        assert "Once " in page
        assert all(f'href="{each.url}' in page for each in beside)


def test_each_report_states_its_result_draws_it_and_holds_its_table(signed_in):
    loan = ended_loan("lead_set")
    student, run = loan.enrolment.student, loan.enrolment.run
    student.name = "=HYPERLINK(1)"
    student.save(update_fields=["name"])
    for name, (shown, _) in REPORTS.items():
        page = _text(signed_in.get(f"{shown.url}?run={run.pk}&since=2026-01-01"))
        assert f"Since 1 January 2026, {run.name}: " in page, name
        assert '<svg class="plot report-plot"' in page
        assert "<figcaption>\n    Longest is" in page or "<figcaption>Longest is" in page
        assert f"{shown.url[:-1]}.csv?run={run.pk}" in page or "With names" in page
        files = [
            signed_in.get(reverse(shown.file_route, args=[form]) + f"?run={run.pk}")
            for form in ("csv", "xlsx")
        ]
        rows = _csv(files[0])
        book = openpyxl.load_workbook(io.BytesIO(files[1].getvalue()))
        assert len(rows) == len(list(book.active.values)) - 1 > 0
        assert files[1]["Content-Disposition"].endswith('.xlsx"')
    assert signed_in.get(reverse("rentals:report_use_file", args=["ods"])).status_code == 404


def test_names_leave_the_desk_only_where_that_is_ticked(signed_in):
    student = ended_loan().enrolment.student
    student.name = "=HYPERLINK(1)"
    student.save(update_fields=["name"])
    address = reverse("rentals:report_use_by_student_file", args=["csv"])
    plain, named = _csv(signed_in.get(address)), _csv(signed_in.get(f"{address}?names=1"))
    assert plain[0]["Student"] == f"student {student.pk}"
    assert named[0]["Student"] == "'=HYPERLINK(1)"
    loans = reverse("rentals:report_costs_by_loan_file", args=["csv"])
    assert "HYPERLINK" not in signed_in.get(loans).getvalue().decode()


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        ("since=2026-12-01&until=2026-11-01", "This is before the first day."),
        ("since=soon", "This is no day."),
        ("until=0001-01-01", "Give a day between 1990 and 2199"),
        ("run=999999", "This run is not on file."),
    ],
)
def test_days_that_make_no_sense_are_kept_and_explained(signed_in, asked, sentence):
    page = reverse("rentals:report_losses")
    answer = _text(signed_in.get(f"{page}?{asked}"))
    assert sentence in answer
    assert "soon" not in asked or 'value="soon"' in answer
    file = signed_in.get(reverse("rentals:report_losses_file", args=["csv"]) + f"?{asked}")
    assert file.url == f"{page}?{asked}"
