"""Rounds, captures and warnings of several kits, looked up together."""

import pytest

from readiness.selectors.limit_book import LimitBook
from readiness.selectors.round_book import rounds_of
from readiness.selectors.rounds import counting, round_since
from tests.factories import complete_kit
from tests.readiness.drops import stills

pytestmark = pytest.mark.django_db


def test_they_are_those_that_each_kit_has_by_itself(django_assert_num_queries):
    kits = [complete_kit(cleared=False) for _ in range(4)]
    stills(kits[0], 3)
    stills(kits[1], 2, first=200)
    kits[3].state = "away"
    book = LimitBook(kits)
    with django_assert_num_queries(5):
        found = rounds_of(kits, book)
    assert {pk: each.since for pk, each in found.items()} == {
        kit.pk: round_since(kit) for kit in kits
    }
    assert [list(found[kit.pk].captures) for kit in kits] == [
        counting(kit, round_since(kit)) for kit in kits
    ]
    assert [len(found[kit.pk].captures) for kit in kits] == [3, 2, 0, 0]
    assert found[kits[2].pk].warnings == []
