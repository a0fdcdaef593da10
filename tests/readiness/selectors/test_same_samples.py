"""Which earlier capture holds the samples of a new one."""

import pytest

from readiness.actions.upload import store_upload
from readiness.selectors.same_samples import SeenSamples
from readiness.signal.sample_marks import mark_from
from tests.factories import complete_kit
from tests.readiness.captures import capture_bytes, capture_file

pytestmark = pytest.mark.django_db


def test_the_first_capture_is_found_for_another_test_and_not_for_itself():
    kit = complete_kit(cleared=False)
    data = capture_bytes("still", kit=kit.code)
    capture = store_upload([capture_file("a.csv", data)]).captures.get()
    other = store_upload([capture_file("b.csv", b"nothing")]).captures.get()
    mark = mark_from(bytes(capture.mark.mark))
    seen = SeenSamples()
    for asked, test, twin in (
        (other, "flex", (capture, 0.0)),
        (other, "still", None),
        (capture, "flex", None),
    ):
        asked.kit, asked.test = kit, test
        assert seen.twin(asked, mark) == twin
