"""Loans that are out, and what lacks of those that came back."""

from datetime import timedelta

import pytest
from django.utils.timezone import localdate

from rentals.actions.dispatch import dispatch
from rentals.actions.receive import arrive, note_line
from rentals.models import Loan
from rentals.selectors.returns import (
    loans_of_out_rows,
    loans_out,
    out_row,
    shortfalls_listed,
    unfinished,
)
from tests.factories import packed_loan
from tests.rentals.actions.acts import shortfall_of

pytestmark = pytest.mark.django_db


def test_what_stands_on_the_desk_comes_before_what_is_away():
    away = dispatch(packed_loan().kit, tracking_number="AB 12")
    back = packed_loan()
    check = arrive(dispatch(back.kit).kit)
    back.refresh_from_db()
    assert list(loans_out()) == [back, away]
    assert list(loans_out(show="check")) == [back]
    assert list(loans_out("ab12")) == [away]
    assert list(loans_out(away.enrolment.student.name)) == [away]
    late = away.due_on + timedelta(days=1)
    assert list(loans_out(show="overdue", today=late)) == [away]
    assert "overdue" in out_row(away, late).mark.word
    assert out_row(back, late).mark == back.mark

    charger = check.lines.get(packing_line__part_kind="charger")
    battery = check.lines.get(packing_line__part_kind="battery_pack")
    note_line(charger, "missing")
    note_line(battery, "back")
    lacks = unfinished(check)
    assert "Battery pack: to be put on charge, then ticked." in lacks
    assert "Lead set: not looked at yet." in lacks
    assert not any("Charger" in sentence for sentence in lacks)


def test_a_line_of_the_list_reads_no_more_than_it_tells(django_assert_num_queries):
    loan = arrive(dispatch(packed_loan().kit).kit).loan
    with django_assert_num_queries(1) as asked:
        (row,) = map(out_row, loans_of_out_rows([loan.pk]), [localdate()])
        assert row.state_words and row.loan.kit.code and not row.partly_back
        assert row.loan.enrolment.student.get_absolute_url() and row.loan.enrolment.run.name
    (query,) = asked.captured_queries
    assert "street" not in query["sql"] and "last_hash" not in query["sql"]


def test_shortfalls_are_listed_until_they_have_ended():
    short = shortfall_of("charger")
    loan = Loan.objects.get()
    for q in ("", "charger", loan.kit.code, loan.enrolment.student.name):
        assert list(shortfalls_listed(q)) == [short]
    assert list(shortfalls_listed(state="waived")) == []
    short.state = "recovered"
    short.closed_at = short.opened_at
    short.save()
    assert list(shortfalls_listed()) == []
    assert list(shortfalls_listed(state="all")) == [short]
