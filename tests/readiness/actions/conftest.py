"""Captures that the acts of the bench are done on."""

import pytest

from readiness.actions.upload import store_upload
from tests.factories import complete_kit
from tests.readiness.captures import capture_bytes, capture_file


@pytest.fixture
def capture(db):
    kit = complete_kit(cleared=False)
    return store_upload(
        [capture_file("a.csv", capture_bytes("still", kit=kit.code))]
    ).captures.get()
