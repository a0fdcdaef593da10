"""The plans of old keep their tests when five boxes become a list of names, and on the way back."""

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, connection, transaction
from django.db.migrations.executor import MigrationExecutor

from readiness.models import BenchPlan
from tests.factories import KitTypeFactory
from tests.the_whole_way import the_whole_way

BOXES = [("readiness", "0002_warnings")]
NAMES = [("readiness", "0003_plan_tests_as_names")]


def migrate(target):
    executor = MigrationExecutor(connection)
    newest = executor.loader.graph.leaf_nodes()
    executor.migrate(target)
    apps = MigrationExecutor(connection).loader.project_state(target).apps
    return apps.get_model("readiness", "BenchPlan"), newest


@pytest.fixture
def step_by_step():
    with the_whole_way():
        yield


@pytest.mark.night
@pytest.mark.django_db(transaction=True)
def test_boxes_become_names_and_names_boxes(step_by_step):
    kit_type = KitTypeFactory()
    plans, newest = migrate(BOXES)
    try:
        plans.objects.create(kit_type_id=kit_type.pk, still=True, flex=False, lift=False, worn=True)
        plans, _ = migrate(NAMES)
        assert plans.objects.get().tests == ["still", "worn"]
        plans.objects.update(tests=["lift", "ground"])
        plans, _ = migrate(BOXES)
        plan = plans.objects.get()
        boxes = [plan.still, plan.flex, plan.lift, plan.ground, plan.worn]
        assert boxes == [False, False, True, True, False]
    finally:
        MigrationExecutor(connection).migrate(newest)
    assert BenchPlan.objects.get().required == ("lift", "ground")


@pytest.mark.night
@pytest.mark.django_db(transaction=True)
def test_kit_types_that_were_there_keep_three_tests_and_new_ones_ask_for_the_second_post(
    step_by_step,
):
    chosen = BenchPlan.objects.create(kit_type=KitTypeFactory(), tests=["worn"])
    unchanged = KitTypeFactory()
    _, newest = migrate([("readiness", "0009_sample_marks")])
    MigrationExecutor(connection).migrate(newest)
    assert BenchPlan.of(unchanged).required == ("still", "flex", "lift")
    assert BenchPlan.of(chosen.kit_type).required == ("worn",)
    assert BenchPlan.of(KitTypeFactory()).required == ("still", "flex", "lift", "ground")


@pytest.mark.django_db
def test_a_plan_without_a_test_is_refused_by_the_database():
    plan = BenchPlan.of(KitTypeFactory())
    plan.tests = []
    with pytest.raises(IntegrityError, match="plan_asks_for_a_test"), transaction.atomic():
        plan.save()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("tests", "sentence"), [(["dance"], "There is no bench test dance."), ([], "cannot stay empty")]
)
def test_a_plan_names_only_tests_of_the_catalogue(tests, sentence):
    plan = BenchPlan.of(KitTypeFactory())
    plan.tests = tests
    with pytest.raises(ValidationError, match=sentence):
        plan.full_clean()
