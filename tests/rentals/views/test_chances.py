"""The page of chances, and the part of a run's page."""

import pytest
from django.urls import reverse

from tests.factories import (
    CourseRunFactory,
    EnrolmentFactory,
    KitTypeFactory,
    assigned_loan,
    complete_kit,
)

pytestmark = pytest.mark.django_db


def page(signed_in, address=None):
    return signed_in.get(address or reverse("rentals:chances")).content.decode()


def test_an_empty_desk_says_from_what_it_would_speak(signed_in):
    text = page(signed_in)
    assert "No run waits for kits" in text
    assert "No kit has come back yet" in text


def test_a_run_has_a_sentence_a_chart_with_words_and_its_kits(signed_in):
    kit = complete_kit(cleared=False)
    run = EnrolmentFactory(run__kit_type=kit.kit_type).run
    for address in (None, run.get_absolute_url()):
        text = page(signed_in, address)
        assert "The one student will have a kit by" in text
        assert "1 or more: 80\N{NO-BREAK SPACE}%" in text
        assert "Kits that matter most" in text
        assert reverse("readiness:kit_bench", args=[kit.code]) in text
        assert "No kit has come back yet" in text


def test_the_queries_are_as_many_for_many_runs_and_kits(signed_in, django_assert_max_num_queries):
    kit_type = KitTypeFactory(contents=False)

    def more(runs: int) -> None:
        for _ in range(runs):
            run = CourseRunFactory(kit_type=kit_type)
            EnrolmentFactory(run=run)
            assigned_loan(complete_kit(kit_type), EnrolmentFactory(run=run))

    more(2)
    # Two of them find since when the past that is kept holds.
    with django_assert_max_num_queries(18) as few:
        page(signed_in)
    more(5)
    with django_assert_max_num_queries(len(few.captured_queries)):
        text = page(signed_in)
    assert "1 to 5 of 7" in text
