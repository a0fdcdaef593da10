from datetime import date, timedelta

import numpy as np
import pytest

from rentals.planning.bench_chance import BenchRecord
from rentals.planning.chance_words import bench_words, chance_sentence, lateness_words, percent
from rentals.planning.lateness import PastLoan
from rentals.planning.lateness_law import learn_lateness
from rentals.planning.run_chance import RunChance

pytestmark = pytest.mark.any_database

DAY = date(2027, 1, 5)


def chance(need, *law):
    return RunChance(need, 0, law, ())


def sentence(need, *law):
    return chance_sentence(chance(need, *law), DAY).replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize(
    ("share", "words"),
    [(0, "0"), (1, "1"), (0.004, "less than 1"), (0.996, "more than 99"), (0.944, "94")],
)
def test_nothing_is_called_certain_that_is_not(share, words):
    assert percent(share) == f"{words if share < 1 else '100'}\N{NO-BREAK SPACE}%"


def test_a_run_that_is_safe_is_said_in_one_clause():
    assert sentence(2, 0.01, 0.02, 0.97) == (
        "All 2 students will have a kit by 5 January 2027 with a chance of 97 %."
    )


def test_a_run_at_risk_names_how_many_are_likely_and_what_spares_add():
    assert sentence(3, 0.01, 0.01, 0.2, 0.78) == (
        "2 of 3 students will have a kit by 5 January 2027 with a chance of 98 %,"
        " all 3 with 78 %; 1 spare kit makes it 98 %."
    )


def test_where_nobody_is_likely_to_be_served_only_the_whole_is_said():
    assert sentence(1, 0.6, 0.4) == (
        "The one student will have a kit by 5 January 2027 with a chance of 40 %;"
        " 1 spare kit makes it 100 %."
    )


def law_of(*lates):
    due = DAY - timedelta(days=100)
    loans = [
        PastLoan(run, due - timedelta(days=60), due, due + timedelta(days=late))
        for run, late in enumerate(lates)
    ]
    return learn_lateness(loans, DAY, np.random.default_rng(1), 20)


def test_it_is_said_from_what_the_chances_speak():
    assert lateness_words(law_of()).startswith("No kit has come back yet")
    few = lateness_words(law_of(-1, 0, 0, 4)).replace("\N{NO-BREAK SPACE}", " ")
    assert few.startswith("From 4 past loans: 75 % (")
    assert "That is few" in few
    assert "That is few" not in lateness_words(law_of(*[0, 2] * 10))


def test_the_bench_is_said_with_its_range():
    assert "four of five" in bench_words(BenchRecord())
    words = bench_words(BenchRecord(5, 15)).replace("\N{NO-BREAK SPACE}", " ")
    assert words == (
        "Of 20 kits that came back, 5 passed the bench at once and complete"
        " (a share of 11 to 47 %)."
    )
