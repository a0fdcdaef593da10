"""The page of a capture: what was measured, what is next, and what cannot be read."""

from __future__ import annotations

import pytest

from readiness.actions.upload import store_upload
from readiness.models import Capture
from readiness.selectors.captures import bytes_of, capture_page, figures, preview_of
from tests.factories import complete_kit
from tests.readiness.captures import INTERMITTENT_B, capture_bytes, capture_file


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (None, ""),
        (0.0, "0"),
        (1.23456, "1.235"),
        (-0.5, "-0.5"),
        (12345.6, "12346"),
        (2e9, "2e+09"),
    ],
)
def test_numbers_have_four_figures_and_no_exponent_where_it_can_be(value, text):
    assert figures(value) == text


@pytest.mark.django_db
def test_a_scored_capture_shows_its_findings_measurements_and_plots():
    code = complete_kit(cleared=False).code
    data = capture_bytes("flex", kit=code, faults=INTERMITTENT_B)
    capture = store_upload([capture_file("a.csv", data)]).captures.get()
    page = capture_page(capture)
    assert page.verdict is not None
    assert (page.mark.word, page.refusal, page.not_counted) == ("not fit", "", "")
    assert page.may_set_aside and page.trace is not None and page.spectrum is not None
    assert any("lead B" in line.title for line in page.findings)
    rows = {row["words"]: row for row in page.measurements}
    assert rows["Battery at the end"]["limit"].startswith("at least ")
    assert not rows["Largest abrupt jump"]["limit"].startswith("at least ")
    assert page.history == []
    assert [line.counts for line in page.events][:1] == [True]
    events = page.verdict.result["events"]
    assert page.trace.svg.count("plot-event-number") == len(events)
    assert "2.00 µV over the whole band is 1.90 µV over 20 to 410 Hz" in page.spectrum.caption
    assert page.next is not None and "lead B" in page.next.label

    capture.status = Capture.Status.WAITING
    again = capture_page(capture)
    assert (again.verdict, again.findings, again.next) == (None, [], None)
    assert again.history == [page.verdict]

    assert bytes_of(capture) == data
    capture.file.storage.delete(capture.file.name)
    later = Capture.objects.get()
    assert bytes_of(later) is None
    assert "gone from the disk" in preview_of(later).refusal
    assert capture_page(later).trace is None


@pytest.mark.django_db
def test_the_look_at_the_columns_names_fields_and_is_silent_on_a_test_that_is_known():
    rows = "".join(f"{number % 7},{number % 5}\n" for number in range(10_000))
    data = ("left,right\n" + rows).encode()
    capture = store_upload([capture_file("flex of the blue kit.csv", data)]).captures.get()
    look = preview_of(capture)
    sentences = [refusal.on_screen for refusal in look.preview.refusals]
    assert any("Say which column is what." in sentence for sentence in sentences)
    assert any("Fill in the sampling rate." in sentence for sentence in sentences)
    for sentence in [*sentences, capture.refusal]:
        assert "--" not in sentence and "test" not in sentence.lower()


@pytest.mark.django_db
def test_a_file_that_cannot_be_read_says_why_and_asks_nothing():
    capture = store_upload([capture_file("junk.csv", b"junk")]).captures.get()
    page = capture_page(capture)
    assert page.verdict is None
    assert page.refusal and not page.may_set_aside
    assert page.next is None  # to record it again is said on this page
    look = preview_of(capture)
    assert look.preview is None
    assert "no row of numbers" in look.refusal
