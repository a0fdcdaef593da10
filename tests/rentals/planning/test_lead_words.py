"""What is said of lead sets, and how little is known of them."""

from datetime import date
from decimal import Decimal

import pytest

from rentals.planning.lead_life import LeadRecord, LeadSetLife, PlannedLoans
from rentals.planning.lead_words import buy_sentence, cost_sentence, life_sentences

pytestmark = pytest.mark.any_database

NEW = LeadRecord([LeadSetLife(0, 1), LeadSetLife(0, 1, spare=True)])
YOUNG = LeadRecord([LeadSetLife(2, 8)] * 9 + [LeadSetLife(2, 8, "worn")])
OLD = LeadRecord([LeadSetLife(loans, loans * 4, "worn") for loans in range(4, 16)])
SPRING = PlannedLoans("Spring", 24, date(2027, 6, 30))


def test_new_sets_tell_nothing_yet():
    said = life_sentences(NEW)
    assert said[0] == "2 lead sets have gone through 0 loans; 0 have ended."
    assert said[1].startswith("That is too few")
    assert said[2].startswith(
        "For now one is taken to end in every 20 loans; it may be one in 4 or"
    )
    assert cost_sentence(NEW, Decimal(45), "EUR", "en") == ""


def test_sets_that_ended_unlent_are_named_apart():
    said = life_sentences(LeadRecord([*YOUNG.lives, LeadSetLife(0, 2, "worn")]))
    assert said[0] == "11 lead sets have gone through 20 loans; 1 has ended."
    assert said[1] == "1 more was put out of use without ever having been lent."


def test_few_ends_say_how_many_outlast_what_was_watched():
    said = life_sentences(YOUNG)
    assert said[0].endswith("20 loans; 1 has ended.")
    assert said[1].startswith("That is too few")
    assert said[2] == (
        "For now one is taken to end in every 20 loans; it may be one in 6 or one in 278."
    )
    cost = cost_sentence(YOUNG, Decimal(45), "EUR", "en")
    assert cost == "At €45.00 a set, a loan costs €2.25 of it (€0.16 to €7.01)."


def test_sets_still_in_use_make_the_cost_an_upper_bound():
    lives = [*OLD.lives, *[LeadSetLife(16, 60)] * 12]
    record = LeadRecord(lives)
    assert "75 % outlast" not in " ".join(life_sentences(record))
    assert "a loan costs at most" in cost_sentence(record, Decimal(45), "EUR", "en")


def test_many_ends_say_how_long_half_last_and_what_a_loan_costs():
    said = life_sentences(OLD)
    assert said[1].startswith("Half last longer than 8 loans: 50 % outlast 9 loans (2")
    assert said[2].startswith("Of the first 15 loans a set lives 9.5 (")
    cost = cost_sentence(OLD, Decimal(45), "EUR", "en")
    assert cost.startswith("At €45.00 a set, a loan costs €4.74 of it (€")
    assert cost_sentence(OLD, Decimal(0), "EUR", "en") == ""


def test_the_sentence_to_act_on_says_how_many_to_buy_by_when():
    assert buy_sentence(OLD, [], 0.95).startswith("No run")
    needs = YOUNG.spare_needs([SPRING], 0.95)
    assert buy_sentence(YOUNG, needs, 0.95) == (
        f"Buy {needs[0].at_most} lead sets by 30 June 2027, when Spring is back: 1.2 failures are"
        f" to be expected over the runs of the next half year, and not more than {needs[0].at_most}"
        " with 95 %; 0 spares are here."
    )
    stocked = LeadRecord([*YOUNG.lives, *[LeadSetLife(0, 1, spare=True)] * 9])
    assert buy_sentence(stocked, stocked.spare_needs([SPRING], 0.95), 0.95).startswith("Buy none:")
