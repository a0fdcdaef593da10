"""Who has what, as a file and to print: the list as its filter shows it."""

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive
from rentals.models import Loan, Student
from tests.factories import packed_loan

pytestmark = pytest.mark.django_db
CSV = reverse("rentals:out_export", args=["csv"])


def away(**facts: str) -> Loan:
    return dispatch(packed_loan().kit, **facts)


def lines(signed_in, address: str) -> list[str]:
    answer = signed_in.get(address)
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    content = answer.getvalue()
    assert content.startswith(b"\xef\xbb\xbf")
    return content.decode("utf-8-sig").splitlines()


def test_the_file_says_who_has_which_kit_since_when(signed_in):
    loan = away(tracking_number="AB 12", carrier="parcel post")
    Student.objects.update(name="=SUM(A1:A9)")
    today, due = timezone.localdate(), loan.due_on
    head, row = lines(signed_in, CSV)
    assert head == "kit,student,run,away since,due,carrier,tracking number,state"
    run = loan.enrolment.run.name
    facts = f'{loan.kit.code},\'=SUM(A1:A9),"{run}",{today},{due},parcel post,AB12,'
    assert row.startswith(facts)
    assert '"away, due ' in row or "away, due" in row


def test_file_and_page_keep_the_filter_of_the_list(signed_in):
    late, back, gone = away(), away(), away()
    arrive(back.kit)
    yesterday = timezone.localdate() - timedelta(days=1)
    Loan.objects.filter(pk=late.pk).update(post_by=yesterday, due_on=yesterday)
    for query, expected in (
        ("", {late, back, gone}),
        ("?show=overdue", {late}),
        ("?show=check", {back}),
        (f"?q={gone.kit.code}", {gone}),
    ):
        codes = {loan.kit.code for loan in expected}
        assert {line.split(",")[0] for line in lines(signed_in, CSV + query)[1:]} == codes
        page = signed_in.get(reverse("rentals:out_print") + query)
        assert {row.loan.kit.code for row in page.context["rows"]} == codes
    shown = signed_in.get(reverse("rentals:receive") + "?show=overdue").content.decode()
    for name, args in (("out_print", []), ("out_export", ["csv"]), ("out_export", ["xlsx"])):
        assert reverse(f"rentals:{name}", args=args) + "?show=overdue" in shown


def test_there_is_no_other_form_and_an_empty_list_says_so(signed_in):
    assert signed_in.get(reverse("rentals:out_export", args=["pdf"])).status_code == 404
    assert "No kit is out" in signed_in.get(reverse("rentals:out_print")).content.decode()
    xlsx = signed_in.get(reverse("rentals:out_export", args=["xlsx"]))
    assert xlsx.getvalue().startswith(b"PK")


def test_the_page_takes_the_same_queries_however_long(signed_in, django_assert_max_num_queries):
    for _ in range(2):
        away()
    signed_in.get(reverse("rentals:out_print"))
    with django_assert_max_num_queries(5):
        assert signed_in.get(reverse("rentals:out_print")).status_code == 200
