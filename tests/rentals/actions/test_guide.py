"""A student goes through the help by symptom."""

import pytest
from django.utils import translation

from rentals.actions.guide import answer_step, begin_help, report_fault, take_up_again
from rentals.errors import Refused
from rentals.models import Loan, OwnStep
from rentals.selectors.guide import visit_page
from rentals.states import GuideOutcome
from rentals.verify import verify
from tests.factories import assigned_loan
from tests.rentals.guide import COULD_NOT, NO, YES, all_answered, lent

pytestmark = pytest.mark.django_db


def last_words(loan: Loan) -> str:
    return loan.kit.events.last().text


def test_what_is_begun_is_gone_on_with_and_what_helps_ends_it():
    loan = lent()
    visit = begin_help(loan, "flat")
    answer_step(visit, "switched_on", NO)
    again = begin_help(loan, "flat")
    assert again == visit and visit_page(again).step.key == "program_sees"
    solved = answer_step(again, "program_sees", YES)
    assert solved.outcome == GuideOutcome.SOLVED and solved.solved_by == "program_sees"
    assert last_words(loan) == "Help by symptom solved it for the student: The trace is flat."
    with pytest.raises(Refused, match="has ended"):
        answer_step(solved, "cells_way", NO)
    assert begin_help(loan, "flat") != visit


def test_going_back_and_answering_otherwise_loses_nothing():
    visit = begin_help(lent(), "jumps")
    for step, answer in (("tape_leads", NO), ("move_a", YES), ("swap_ends", NO)):
        answer_step(visit, step, answer)
    assert visit_page(visit).step.key == "electrodes_new"
    answer_step(visit, "move_a", NO)
    assert visit_page(visit).step.key == "move_b"
    answer_step(visit, "move_a", YES)
    assert visit_page(visit).step.key == "electrodes_new"
    back = visit_page(visit, wanted="move_a")
    assert (back.step.key, back.given) == ("move_a", YES)


def test_a_report_holds_everything_that_was_tried_in_the_desks_words():
    loan = lent()
    visit = begin_help(loan, "one_wrist")
    answer_step(visit, "sockets", COULD_NOT)
    with translation.override("de"):
        visit = all_answered(visit)
        report = report_fault(visit, "  The left one.  ")
    assert report == report_fault(visit, "again")
    assert report.symptom == "It works on one wrist only" and report.note == "The left one."
    titles = [row["title"] for row in report.tried]
    assert titles[:2] == ["Press the plugs in", "Compare the sockets"]
    assert report.tried[0]["rules_out"] == "No plug was half out."
    assert report.tried[1]["answer"] == "I could not do this"
    assert titles[-1] == "Send ten seconds of your trace"
    words = "The student reports a fault: It works on one wrist only; 8 steps tried."
    assert last_words(loan) == words
    assert verify() == []


def test_what_was_tried_off_the_way_is_in_the_report_as_well():
    visit = begin_help(lent(), "jumps")
    for step, answer in (("tape_leads", NO), ("move_a", YES), ("swap_ends", YES), ("move_a", NO)):
        answer_step(visit, step, answer)
    report = report_fault(visit)
    assert [row["title"] for row in report.tried] == [
        "Hold the leads still",
        "Move lead A alone",
        "Swap the ends of A and B",
    ]


def test_a_kit_that_is_not_safe_is_reported_out_of_use():
    visit = answer_step(begin_help(lent(), "cells"), "cells_look", YES)
    assert visit_page(visit).stop
    report = report_fault(visit)
    assert report.out_of_use and last_words(report.loan).endswith("is not to be used again.")


def test_what_was_not_solved_after_all_goes_on_where_it_was():
    loan = lent()
    visit = answer_step(begin_help(loan, "hum"), "laptop_battery", YES)
    visit = take_up_again(visit)
    assert visit.outcome == GuideOutcome.OPEN
    assert visit_page(visit).step.key == "charger_off"
    assert take_up_again(visit) == visit
    solved = answer_step(visit, "charger_off", YES)
    begun = begin_help(loan, "hum")
    assert take_up_again(solved) == begun


def test_an_owners_step_is_one_like_the_others():
    own = OwnStep.objects.create(symptom="cells", title="Ask at home", to_try="Ask.")
    visit = all_answered(begin_help(lent(), "cells"))
    report = report_fault(visit)
    assert report.tried[-1]["title"] == "Ask at home"
    assert visit.tried.filter(step=own.key).exists()


def test_nonsense_and_a_kit_that_is_not_there_are_refused_in_words():
    with pytest.raises(Refused, match="not with you"):
        begin_help(assigned_loan(), "hum")
    loan = lent()
    with pytest.raises(Refused, match="signs of trouble"):
        begin_help(loan, "smoke")
    visit = begin_help(loan, "hum")
    for step, answer in (("cells_way", NO), ("laptop_battery", "maybe")):
        with pytest.raises(Refused, match="one of the answers"):
            answer_step(visit, step, answer)
    assert visit.tried.count() == 0
