"""Faults as work of the day."""

import pytest

from rentals.actions.guide import answer_step, begin_help, report_fault
from rentals.selectors.today_faults import faults_reported
from tests.rentals.guide import YES, lent, reported

pytestmark = pytest.mark.django_db


def test_a_kit_that_is_out_of_use_comes_first_and_one_query_does(django_assert_num_queries):
    reported("hum")
    report_fault(answer_step(begin_help(lent(), "cells"), "cells_look", YES))
    with django_assert_num_queries(1):
        group = faults_reported()
    assert [line.what for line in group.lines] == ["The cells are empty early", "The trace hums"]
    assert [line.mark and line.mark.word for line in group.lines] == ["out of use", None]
