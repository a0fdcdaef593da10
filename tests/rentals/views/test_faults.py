"""Fault reports at the desk."""

import pytest
from django.urls import reverse

from rentals.models import FaultReport
from tests.rentals.guide import reported

pytestmark = pytest.mark.django_db


def test_a_report_is_work_of_the_day_until_it_is_answered(signed_in):
    report = reported("cells", "It smells.")
    home = reverse("rentals:today")
    assert "Faults reported by students" in signed_in.get(home).text
    kit, loan = report.loan.kit.get_absolute_url(), report.loan.get_absolute_url()
    for address in (reverse("rentals:faults"), kit, loan):
        assert "The cells are empty early" in signed_in.get(address).text
    page = signed_in.get(report.get_absolute_url()).text
    for words in (
        "It smells.",
        "Look at cells and charger",
        "The kit was not left on.",
        "/another-part/",
        "/another-kit/",
    ):
        assert words in page
    signed_in.post(reverse("rentals:fault_answer", args=[report.pk]), {"answer": "Cells come."})
    assert "Faults reported by students" not in signed_in.get(home).text
    signed_in.post(reverse("rentals:fault_hold", args=[report.pk]))
    signed_in.post(reverse("rentals:fault_close", args=[report.pk]), {"answer": "Cells sent."})
    report = FaultReport.objects.get()
    assert (report.state, report.answer, report.hold_on_return) == ("closed", "Cells sent.", True)
    assert "The cells are empty early" not in signed_in.get(reverse("rentals:faults")).text
    assert (
        "The cells are empty early" in signed_in.get(reverse("rentals:faults") + "?state=all").text
    )


def test_nothing_written_is_refused_beside_the_box(signed_in):
    report = reported()
    answer = signed_in.post(reverse("rentals:fault_answer", args=[report.pk]), {"answer": " "})
    assert answer.status_code == 422


def test_the_table_says_what_the_help_solved(signed_in):
    reported("hum")
    page = signed_in.get(reverse("rentals:guide_solved")).text
    assert "The trace hums" in page and "nothing yet" in page
