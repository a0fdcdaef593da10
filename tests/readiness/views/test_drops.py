"""A drop by the kits it held."""

import re

import pytest
from django.urls import reverse

from readiness.actions.upload import store_upload
from tests.factories import complete_kit
from tests.readiness.captures import INTERMITTENT_B, kit_files

pytestmark = pytest.mark.django_db


def test_a_drop_says_of_each_kit_what_came_of_it_and_is_listed_by_its_kits(signed_in):
    kit = complete_kit(cleared=False)
    broken = complete_kit(kit.kit_type, cleared=False)
    files = kit_files(kit.code) + kit_files(broken.code, seed=20, faults=INTERMITTENT_B)
    upload = store_upload(files)
    page = signed_in.get(upload.get_absolute_url()).content.decode()
    by_kit = page[page.index("By kit") : page.index("By file")]
    first, second = (f"/bench/kits/{code}/" for code in (broken.code, kit.code))
    assert by_kit.index(first) < by_kit.index(second)
    assert "lead B" in by_kit and "cleared" in by_kit
    for address in (reverse("readiness:drops"), reverse("readiness:bench")):
        listed = signed_in.get(address).content.decode()
        drop = listed[listed.index('id="drop-list"') :]
        words = re.sub(r"<[^>]+>", "", drop)
        assert kit.code in words and broken.code in words
