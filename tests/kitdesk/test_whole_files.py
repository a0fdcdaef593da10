"""See tests/rentals/test_disk_full.py for the disk that is full."""

from pathlib import Path

import pytest
from django.core.files.base import ContentFile

from kitdesk.whole_files import WholeFileStorage

pytestmark = pytest.mark.any_database


def test_a_file_that_was_there_before_is_left_alone(tmp_path: Path):
    storage = WholeFileStorage(location=tmp_path)
    first = storage.save("a.csv", ContentFile(b"first"))
    second = storage.save("a.csv", ContentFile(b"second"))
    assert {(tmp_path / name).read_bytes() for name in (first, second)} == {b"first", b"second"}
