"""Losses by kind and by run, against a plain count over the rows and the events."""

from datetime import date
from decimal import Decimal

import pytest

from rentals.actions.receive import write_off
from rentals.actions.settle import charge, recover, waive
from rentals.lifecycle import Verb
from rentals.models import Event, Loan
from rentals.reports.scope import ReportScope
from rentals.selectors.reports.losses import loss_total, losses_by_kind, losses_by_run
from rentals.states import ReturnOutcome
from tests.factories import EnrolmentFactory

from .ended import ended_loan, posted_loan

pytestmark = pytest.mark.django_db


@pytest.fixture
def lossy_loans() -> list[Loan]:
    """A loan that lost three things, one that came back whole, one given up, one still out."""
    short = ended_loan("lead_set", "band", "box")
    enrolment = EnrolmentFactory(run=short.enrolment.run)
    whole = ended_loan(enrolment=enrolment)
    gone = posted_loan()
    write_off(gone.kit, reason="never heard of again")
    posted_loan()
    by_kind = {each.packing_line.part_kind: each for each in short.shortfalls.all()}
    charge(by_kind["lead_set"], Decimal("40.50"))
    waive(by_kind["band"], reason="worn anyway")
    recover(by_kind["box"])
    return [short, whole, gone]


def test_the_total_is_what_rows_and_events_say(lossy_loans):
    total = loss_total(ReportScope())
    assert (total.share.hits, total.share.trials) == (2, 3)
    # Counted anew, line by line, and by the events that the acts wrote.
    missed = [
        line.packing_line.quantity - line.quantity_back
        for loan in lossy_loans[:2]
        for line in loan.return_check.lines.filter(outcome=ReturnOutcome.MISSING)
    ]
    given_up = [line.quantity for line in lossy_loans[2].packing_lines.filter(comes_back=True)]
    assert total.short == sum(missed) + sum(given_up)
    texts = list(Event.objects.filter(verb=Verb.SHORTFALL).values_list("text", flat=True))
    assert sum("charged" in text for text in texts) == total.charged == 1
    assert sum("recovered" in text for text in texts) == total.recovered == 1
    assert (total.written_off, total.still_open) == (2, sum(given_up))
    assert (total.charged_sum, total.written_off_sum) == (Decimal("40.5"), Decimal(6))
    worth = sum(short.amount for short in lossy_loans[2].shortfalls.all())
    assert total.still_open_sum == worth


def test_kinds_and_runs_add_up_to_the_total(lossy_loans):
    scope = ReportScope()
    total = loss_total(scope)
    for report in (losses_by_kind(scope), losses_by_run(scope)):
        rows = report.rows_of(list(report.things))
        assert [sum(row[at] for row in rows) for at in range(2, 11)] == list(total.values[1:])
        assert report.chart_of(rows).caption.startswith("Longest is ")
    kinds = losses_by_kind(scope)
    by_kind = {row[0]: row for row in kinds.rows_of(kinds.things)}
    assert (by_kind["Lead set"][1].hits, by_kind["Lead set"][1].trials) == (2, 3)
    assert (by_kind["Charger"][1].hits, by_kind["Charger"][1].trials) == (1, 3)
    assert kinds.things[0][0] in ("Lead set", "Band", "Box")


def test_the_sentence_says_the_result_and_how_sure_it_is(lossy_loans):
    sentence = losses_by_kind(ReportScope()).sentence.replace("\u00a0", " ")
    assert sentence.startswith("Since this desk began: 2 of 3 loans came back short, 67 % (21 to")
    assert "1 recovered, 1 charged (€40.50), 2 written off (€6.00)" in sentence
    whole = ReportScope(run=lossy_loans[0].enrolment.run.pk, run_name="Run")
    assert "1 of 2 loans" in losses_by_run(whole).sentence
    assert losses_by_run(ReportScope(until=date(2020, 1, 1))).sentence == ""


def test_where_nothing_was_lost_the_sentence_does_not_promise_more_than_it_knows():
    ended_loan()
    sentence = losses_by_kind(ReportScope()).sentence
    # Wilson's upper bound for none of one is z²/(1 + z²) = 79 %.
    assert "all that should come back did, of 1 loan" in sentence
    assert "up to 79 % of loans" in sentence
