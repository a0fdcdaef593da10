"""What is usual of a kit is said in words, once there are three good captures of a kind."""

import pytest

from readiness.actions.upload import store_upload
from readiness.selectors.usual import usual_lines
from tests.factories import complete_kit
from tests.readiness.captures import capture_bytes, capture_file

pytestmark = pytest.mark.django_db


def _drop(kit, test, seeds):
    store_upload(
        [
            capture_file(f"{test}{seed}.csv", capture_bytes(test, kit=kit.code, seed=seed))
            for seed in seeds
        ]
    )


def test_what_is_usual_is_said_and_what_it_is_used_for(signed_in):
    kit = complete_kit(cleared=False)
    _drop(kit, "still", (1, 2))
    assert usual_lines(kit) == []
    _drop(kit, "still", (3,))
    _drop(kit, "lift", (1, 2, 3))
    noise, hum, lift = usual_lines(kit)
    assert "usual noise is" in noise and "not believed" in noise
    assert hum.endswith("passes nothing.")
    assert lift.startswith("Lifted, lead A ") and "today's lift alone" in lift and "e+" not in lift
    assert hum in signed_in.get(f"/bench/kits/{kit.code}/").content.decode()
