"""Scoring in the background: claimed once, repeated without harm, broken off and taken up again,
old verdicts kept.
"""

from datetime import timedelta

import pytest
from django.utils import timezone

from readiness.actions import score
from readiness.actions.claim_capture import LEASE, release_expired
from readiness.actions.score import score_one
from readiness.actions.upload import store_upload
from readiness.models import Capture, CaptureMark, Verdict
from readiness.signal.limits import METHOD_VERSION
from tests.factories import complete_kit
from tests.readiness.captures import INTERMITTENT_B, capture_bytes, capture_file, kit_files
from tests.readiness.drops import wait

pytestmark = pytest.mark.django_db


def test_a_sound_kit_is_fit_in_all_three_tests():
    kit = complete_kit(cleared=False)
    upload = store_upload(kit_files(kit.code))
    verdicts = Verdict.objects.filter(capture__upload=upload)
    assert [v.verdict for v in verdicts] == ["fit"] * 3


def test_a_verdict_keeps_scores_limits_method_and_the_whole_result(capture):
    verdict = capture.verdicts.get()
    assert verdict.current
    assert verdict.method_version == METHOD_VERSION
    assert verdict.limits["noise_uv"] == 2.0
    assert verdict.limits["chemistry"] == "nimh"
    assert 0 < verdict.noise_uv < 2.0
    assert verdict.battery_v == 2.7
    assert (verdict.continuity, verdict.noise, verdict.battery) == (None, 100.0, 100.0)
    assert verdict.result["kit"] == capture.kit.code
    assert {row["name"] for row in verdict.result["measurements"]} >= {
        "noise_full_band",
        "battery_end",
        "mains_rms",
    }


def test_a_capture_remembers_the_parts_it_speaks_of(capture):
    fitted = {part.kind: part.pk for part in capture.kit.parts.all()}
    assert capture.amplifier_id == fitted["amplifier"]
    assert capture.lead_set_id == fitted["lead_set"]
    assert capture.battery_pack_id == fitted["battery_pack"]


def test_a_capture_is_scored_in_few_queries(capture, django_assert_max_num_queries):
    """The limits, for one, are looked up once, for the verdict and for the kit's warnings."""
    wait(capture)
    with django_assert_max_num_queries(49):
        assert score_one(capture.pk) == "scored"


def test_scoring_a_scored_capture_does_nothing(capture):
    assert score_one(capture.pk) == "scored"
    assert capture.verdicts.count() == 1


def test_a_damaged_mark_keeps_nothing_from_being_scored_and_scoring_again_mends_it(capture, caplog):
    whole = bytes(capture.mark.mark)
    for seed, damaged in enumerate((b"", b"\xff" * 900, whole[:-1], whole + b"\0"), start=70):
        CaptureMark.objects.filter(capture=capture).update(mark=damaged)
        other = complete_kit(cleared=False)
        data = capture_bytes("still", kit=other.code, seed=seed)
        upload = store_upload([capture_file("o.csv", data)])
        assert upload.captures.get().status == "scored"
        assert f"Damaged marks: 1, the newest of capture {capture.pk}." in caplog.text
        caplog.clear()
    wait(capture)
    score_one(capture.pk)
    assert bytes(CaptureMark.objects.get(capture=capture).mark) == whole


def test_what_no_file_is_to_blame_for_is_tried_until_it_works(capture, monkeypatch):
    with monkeypatch.context() as broken:
        broken.setattr(score, "column_maps", lambda: 1 / 0)
        wait(capture)
        for _ in range(LEASE.tries + 2):
            with pytest.raises(ZeroDivisionError):
                score_one(capture.pk)
            expired = timezone.now() - LEASE.duration - timedelta(seconds=1)
            Capture.objects.update(claimed_at=expired)
            assert release_expired() == [capture.pk]
    assert score_one(capture.pk) == "scored"


def test_a_program_fault_is_tried_three_times_and_then_said(capture, monkeypatch, caplog):
    tried = []

    def broken(*args, **kwargs):
        tried.append(1)
        raise RuntimeError("not to be expected")

    monkeypatch.setattr(score, "judge", broken)
    wait(capture)
    for _ in range(LEASE.tries + 1):
        score_one(capture.pk)
        release_expired()
    capture.refresh_from_db()
    assert len(tried) == LEASE.tries
    assert capture.status == "unreadable"
    assert "failed 3 times" in capture.refusal
    assert "not to be expected" in caplog.text


def test_a_file_gone_from_the_disk_is_said(capture):
    capture.file.storage.delete(capture.file.name)
    wait(capture)
    assert score_one(capture.pk) == "unreadable"
    capture.refresh_from_db()
    assert "cannot be read" in capture.refusal


def test_an_outcome_that_comes_too_late_is_dropped(capture, monkeypatch):
    """A worker that was taken for dead and is not must not write over the one that took its
    place.
    """
    real = score.judge

    def slow(*args):
        Capture.objects.filter(pk=capture.pk).update(
            claimed_at=timezone.now() + timedelta(seconds=1)
        )
        return real(*args)

    monkeypatch.setattr(score, "judge", slow)
    capture.verdicts.all().delete()
    wait(capture)
    assert score_one(capture.pk) == "scoring"
    assert not capture.verdicts.exists()


def test_an_intermittent_lead_is_found_and_named():
    kit = complete_kit(cleared=False)
    data = capture_bytes("flex", kit=kit.code, faults=INTERMITTENT_B)
    verdict = store_upload([capture_file("a.csv", data)]).captures.get().verdicts.get()
    assert verdict.verdict == "not fit"
    assert [(f["code"], f["lead"]) for f in verdict.result["findings"]] == [
        ("intermittent_lead", "B")
    ]
    assert verdict.result["events"]
