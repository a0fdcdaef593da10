"""The check kit: a kit that never leaves tells a bad bench from a bad kit."""

import pytest
from django.urls import reverse
from django.utils import timezone

from readiness.actions.check_kit import HOLD_REASON, appoint, dismiss
from readiness.actions.upload import store_upload
from readiness.models import CheckKit, Verdict
from readiness.selectors.bench_day import bench_day
from rentals.actions.assign import assign
from rentals.errors import Refused
from tests.factories import EnrolmentFactory, assigned_loan, complete_kit
from tests.readiness.captures import INTERMITTENT_B, kit_files
from tests.readiness.drops import learnt, noise, still

pytestmark = pytest.mark.django_db


@pytest.fixture
def check():
    kit = complete_kit(cleared=False)
    appoint(kit)
    kit.refresh_from_db()
    return kit


def test_a_check_kit_is_held_and_cannot_be_lent(check):
    assert (check.state, check.hold_reason) == ("held", HOLD_REASON)
    with pytest.raises(Refused):
        assign(check, EnrolmentFactory(run__kit_type=check.kit_type))


def test_a_kit_on_a_loan_or_a_second_one_is_refused(check):
    with pytest.raises(Refused, match="is the check kit already"):
        appoint(complete_kit())
    dismiss(check)
    with pytest.raises(Refused, match="on a loan"):
        appoint(assigned_loan().kit)


def test_dismissing_lets_it_go(check):
    dismiss(check)
    check.refresh_from_db()
    assert check.state == "bench"
    assert not CheckKit.objects.exists()
    dismiss(check)


def test_outside_its_limits_the_days_failures_are_held_as_retest(check):
    learnt(check)
    noise(still(check, 1), 9.0)
    kit = complete_kit(cleared=False)
    store_upload(kit_files(kit.code, faults=INTERMITTENT_B))
    kit.refresh_from_db()
    found = kit.bench_tests.get()
    assert found.verdict == "retest"
    assert "the bench is suspect" in kit.not_cleared_reason
    assert "Intermittent lead B" in kit.not_cleared_reason


def test_a_check_that_comes_later_in_the_day_judges_the_day_again(check):
    learnt(check)
    kit = complete_kit(cleared=False)
    store_upload(kit_files(kit.code, faults=INTERMITTENT_B))
    assert kit.bench_tests.get().verdict == "not fit"
    # As if it had always read a fifth of a microvolt: what it reads now is far above.
    Verdict.objects.filter(capture__kit=check).update(noise_uv=0.2)
    still(check, 2)
    assert bench_day(timezone.localdate()).state == "suspect"
    assert kit.bench_tests.get().verdict == "retest"


def test_a_fit_kit_is_cleared_on_a_suspect_day_too(check):
    learnt(check)
    noise(still(check, 1), 9.0)
    kit = complete_kit(cleared=False)
    store_upload(kit_files(kit.code, seed=2))
    kit.refresh_from_db()
    assert kit.cleared


def test_the_bench_page_tells_the_day(signed_in, check):
    page = signed_in.get(reverse("readiness:bench")).content.decode()
    assert "was not tested that day" in page
    assert "Test it first" in page


def test_appointing_and_dismissing_on_the_kits_page(signed_in):
    kit = complete_kit(cleared=False)
    address = reverse("readiness:check_kit", args=[kit.code])
    page = signed_in.post(address, {"act": "appoint"}, follow=True).content.decode()
    assert "No longer the check kit" in page
    assert CheckKit.objects.get().kit == kit
    signed_in.post(address, {"act": "dismiss"})
    assert not CheckKit.objects.exists()
    refused = signed_in.post(reverse("readiness:check_kit", args=[assigned_loan().kit.code]))
    assert "on a loan" in refused.content.decode()
