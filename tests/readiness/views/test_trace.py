"""The trace on the page of a capture: the stretch that the address asks for, bounded."""

from __future__ import annotations

import pytest

from readiness.actions.upload import store_upload
from tests.factories import complete_kit
from tests.readiness.captures import INTERMITTENT_B, capture_bytes, capture_file

pytestmark = pytest.mark.django_db


def test_the_address_says_which_stretch_is_drawn(signed_in):
    code = complete_kit(cleared=False).code
    data = capture_bytes("flex", kit=code, faults=INTERMITTENT_B)
    capture = store_upload([capture_file("a.csv", data)]).captures.get()
    events = capture.verdicts.get().result["events"]
    page = signed_in.get(capture.get_absolute_url(), {"from": "5", "to": "7.5"}).content.decode()
    drawn = page.partition('id="trace-view"')[2].partition("Spectrum")[0]
    seen = [number for number, event in enumerate(events, 1) if 5 <= event[0] <= 7.5]
    assert seen
    assert drawn.count('class="plot-event"') == 2 * len(seen)
    assert "5 to 7.5 s of 10.0 s between " in drawn
    assert 'href="?' not in drawn
    assert f'href="{capture.get_absolute_url()}?from=5.625&amp;to=6.875#trace-view"' in drawn
    assert 'aria-current="location">Lead B<' in drawn
    for query in ("from=nonsense", "from=-1e99&to=1e99", "to=nan", "from=%00"):
        whole = signed_in.get(f"{capture.get_absolute_url()}?{query}")
        assert whole.status_code == 200, query
        assert "s of 10.0 s" not in whole.content.decode(), query
