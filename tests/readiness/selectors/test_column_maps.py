"""The column maps that kit types keep."""

from __future__ import annotations

import json

import pytest

from readiness.models import BenchPlan
from readiness.selectors.column_maps import column_maps
from tests.factories import KitTypeFactory

pytestmark = pytest.mark.django_db


def test_maps_of_all_kit_types_are_given_as_json():
    kept = [{"signature": "left,right", "columns": []}, {"signature": "sound", "columns": []}]
    BenchPlan.objects.create(kit_type=KitTypeFactory(contents=False), column_maps=kept)
    BenchPlan.objects.create(kit_type=KitTypeFactory(contents=False))
    assert [json.loads(text) for text in column_maps()] == kept
