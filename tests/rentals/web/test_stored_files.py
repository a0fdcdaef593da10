"""A file that has gone from the disk is a sentence, not a failure."""

from pathlib import Path

import pytest
from django.core.files.base import ContentFile
from django.test import Client
from django.urls import reverse

from readiness.actions.upload import store_upload
from tests.factories import complete_kit

pytestmark = [pytest.mark.django_db, pytest.mark.any_database]


def test_a_capture_whose_file_is_gone_says_so_wherever_it_is_asked_for(signed_in: Client):
    upload = store_upload([ContentFile(b"1,2\n3,4\n", "still.csv")], kit=complete_kit())
    capture = upload.captures.get()
    Path(capture.file.path).unlink()
    download = signed_in.get(reverse("readiness:capture_file", args=[capture.pk]))
    assert download.status_code == 404
    assert "gone from the desk" in download.content.decode()
    assert signed_in.get(capture.get_absolute_url()).status_code == 200
    columns = signed_in.get(reverse("readiness:columns", args=[capture.pk]))
    assert columns.status_code == 200
    assert "gone from the disk" in columns.content.decode()
