"""A verdict says how often a fault of each kind would have been seen in its captures."""

import pytest

from readiness.actions.upload import store_upload
from readiness.selectors.kits import kit_bench
from readiness.signal.chances import chances
from tests.factories import complete_kit
from tests.readiness.captures import DEFAULT, kit_files

pytestmark = pytest.mark.django_db


def test_a_kit_with_a_verdict_says_how_sure_it_is(signed_in):
    kit = complete_kit(cleared=False)
    assert kit_bench(kit).sure is None
    store_upload(kit_files(kit.code))
    sure = kit_bench(kit).sure
    assert sure.captures.startswith("still, flex, lift; 1,000 Hz or more; hum of ")
    assert {chance.fault for chance in sure.chances} == {
        chance.fault for chance in chances(DEFAULT, 1024.0, None)
    }
    page = signed_in.get(f"/bench/kits/{kit.code}/").content.decode()
    worst = sure.least[0]
    words = worst.fault[:1].upper() + worst.fault[1:]
    assert f"{words} would have been seen in {worst.of_hundred} of 100" in page
