"""Parts, plans and limits of several kits, looked up together."""

import pytest

from readiness.models import BenchPlan
from readiness.selectors.limit_book import LimitBook
from readiness.selectors.limits import fitted, limits_for
from rentals.models import Amplifier
from tests.factories import complete_kit
from tests.readiness.drops import stills

pytestmark = pytest.mark.django_db


def test_they_are_those_that_each_kit_has_by_itself(django_assert_num_queries):
    kits = [complete_kit(cleared=False) for _ in range(3)]
    stills(kits[0], 6)
    Amplifier.objects.filter(kit=kits[1]).update(noise_limit_uv=0.9)
    BenchPlan.objects.filter(kit_type=kits[1].kit_type).update(battery_limit_v=2.55)
    kits[2].parts.update(kit=None, place="spare")
    with django_assert_num_queries(6):
        book = LimitBook(kits)
        assert [book.plan(kit).battery_limit_v for kit in kits] == [None, 2.55, None]
        looked_up = [(book.fitted(kit), book.limits(kit)) for kit in kits]
    assert looked_up == [(fitted(kit), limits_for(kit)) for kit in kits]
    assert book.limits(kits[0]).usual_noise_uv
    late = complete_kit(cleared=False)
    assert book.limits(late) == limits_for(late)


def test_plans_can_be_read_once_more():
    kit = complete_kit(cleared=False)
    book = LimitBook([kit])
    BenchPlan.objects.filter(kit_type=kit.kit_type).update(tests=["still"])
    assert book.plan(kit).tests != ["still"]
    book.renew_plans([kit])
    assert book.plan(kit).tests == ["still"]
