"""Addresses of static files are worked out once."""

import json

import pytest
from whitenoise.storage import CompressedManifestStaticFilesStorage

from kitdesk.kept_static import KeptStaticFiles

pytestmark = pytest.mark.any_database


@pytest.fixture
def files(tmp_path):
    listed = {"paths": {"a.css": "a.0123.css"}, "version": "1.1", "hash": "0"}
    (tmp_path / "staticfiles.json").write_text(json.dumps(listed), encoding="utf-8")
    return KeptStaticFiles(location=tmp_path, base_url="/static/")


def test_an_address_is_worked_out_once(files, monkeypatch):
    first = files.url("a.css")
    assert first == "/static/a.0123.css"
    monkeypatch.setattr(CompressedManifestStaticFilesStorage, "url", None)
    assert files.url("a.css") == first


def test_a_file_that_is_not_there_is_named_each_time(files):
    for _ in range(2):
        with pytest.raises(ValueError, match=r"b\.css"):
            files.url("b.css")
