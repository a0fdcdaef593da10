"""The plots of a capture are drawn from its bytes, and left out where those cannot be read."""

from __future__ import annotations

import pytest

from readiness.actions.upload import store_upload
from readiness.models import Capture, Verdict
from readiness.selectors.evidence import plots_of
from tests.factories import complete_kit
from tests.readiness.captures import capture_bytes, capture_file

pytestmark = pytest.mark.django_db


def test_a_capture_with_a_gap_has_a_trace_and_no_spectrum():
    code = complete_kit(cleared=False).code
    capture = store_upload([capture_file("a.csv", capture_bytes("still", kit=code))]).captures.get()
    verdict = capture.verdicts.get()
    trace, spectrum = plots_of(capture, verdict)
    assert trace is not None and spectrum is not None

    lines = capture_bytes("still", kit=code).decode().splitlines()
    lines[-1000] = "nan"
    capture.file.storage.delete(capture.file.name)
    capture.file.save("gap.csv", capture_file("gap.csv", "\n".join(lines).encode()), save=False)
    trace, spectrum = plots_of(capture, verdict)
    assert trace is not None and spectrum is None

    capture.name = "a.edf"
    assert plots_of(capture, verdict) == (None, None)


def test_a_file_gone_from_the_disk_has_no_plots():
    capture = store_upload([capture_file("a.csv", b"junk")]).captures.get()
    capture.file.storage.delete(capture.file.name)
    capture = Capture.objects.get()
    assert plots_of(capture, Verdict(capture=capture)) == (None, None)
