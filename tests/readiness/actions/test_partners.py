"""A header and its signal file, dropped together, are one capture."""

from __future__ import annotations

import numpy as np
import pytest
from django.core.files.base import ContentFile

from readiness.actions.partners import with_partners
from readiness.actions.upload import store_upload
from tests.factories import complete_kit
from tests.readiness.captures import capture_file

pytestmark = pytest.mark.django_db

HEADER = b"rec 1 300 3000\nrec.dat 16 100(0)/uV 16 0 0 0 0 EMG\n"


@pytest.fixture
def kit():
    return complete_kit(cleared=False)


def record(kit, seed: int = 1) -> list[ContentFile]:
    codes = np.random.default_rng(seed).integers(-90, 90, 3000).astype("<i2").tobytes()
    name = f"{kit.code} still"
    return [capture_file(f"{name}.dat", codes), capture_file(f"{name}.hea", HEADER)]


def test_both_files_become_one_scored_capture(kit):
    capture = store_upload(record(kit)).captures.get()
    assert (capture.status, capture.test, capture.kit) == ("scored", "still", kit)
    assert capture.name == f"{kit.code} still.wfdb.zip"
    again = store_upload(record(kit))
    assert not again.captures.exists()
    assert "same bytes" in again.turned_away.get().sentence


def test_a_half_says_what_it_lacks(kit):
    for file in record(kit, seed=2):
        capture = store_upload([file]).captures.get()
        assert capture.status == "unreadable"
        assert "record.hea and record.dat" in capture.refusal


def test_files_of_one_name_stay_as_they_came(kit):
    files = [*record(kit), *record(kit, seed=3)]
    assert with_partners(files) == files
