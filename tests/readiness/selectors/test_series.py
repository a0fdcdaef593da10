"""What a kit's parts measured over time, drawn on its pages."""

import html
from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from readiness.actions.conclude import conclude
from readiness.actions.upload import store_upload
from readiness.models import Verdict
from readiness.selectors.limits import fitted, limits_for
from readiness.selectors.series import kit_series
from rentals.actions.register import swap_part
from tests.factories import complete_kit, spare
from tests.readiness.captures import capture_bytes, capture_file, kit_files

pytestmark = pytest.mark.django_db


@pytest.fixture
def kit():
    return complete_kit(cleared=False)


def still(kit, seed, days_ago, noise_uv, battery_v=2.7):
    taken = timezone.now() - timedelta(days=days_ago)
    data = capture_bytes("still", kit=kit.code, seed=seed, taken=taken, battery_v=battery_v)
    capture = store_upload([capture_file(f"{seed}.csv", data)]).captures.get()
    Verdict.objects.filter(capture=capture).update(noise_uv=noise_uv)
    return capture


def test_one_value_a_day_the_median_of_noise_and_the_lowest_voltage(kit):
    still(kit, 1, 20, 0.7)
    for seed, noise, volts in ((2, 0.6, 2.7), (3, 0.8, 2.6), (4, 0.9, 2.65)):
        still(kit, seed, 10, noise, volts)
    noise, battery = kit_series(fitted(kit), limits_for(kit))
    assert (noise.values, noise.limit, noise.unit) == ([0.7, 0.8], 2.0, "µV")
    assert (battery.values, battery.limit, battery.unit) == ([2.7, 2.6], 2.4, "V")
    assert (noise.days[1] - noise.days[0]).days == 10


def test_a_single_day_is_no_course(kit):
    still(kit, 1, 3, 0.7)
    assert kit_series(fitted(kit), limits_for(kit)) == []


def test_another_amplifier_begins_its_own_series(kit):
    still(kit, 1, 20, 0.7)
    still(kit, 2, 10, 0.7)
    swap_part(kit, kit.parts.get(kind="amplifier"), spare("amplifier"))
    assert [series.title for series in kit_series(fitted(kit), limits_for(kit))] == [
        "Battery under load"
    ]


def test_captures_set_aside_are_left_out(kit):
    still(kit, 1, 20, 0.7)
    capture = still(kit, 2, 10, 0.7)
    capture.set_aside = "The bar was dropped."
    capture.save()
    assert kit_series(fitted(kit), limits_for(kit)) == []


def test_the_pages_show_the_charts_with_their_captions(signed_in, kit):
    still(kit, 1, 20, 0.7)
    still(kit, 2, 10, 0.75)
    for name in ("kit_bench", "kit_panel"):
        page = signed_in.get(reverse(f"readiness:{name}", args=[kit.code])).content.decode()
        assert "between 0.70 and 0.75, limit 2.00." in page
        assert page.count("<figure") == 2


def test_a_warning_stands_on_the_pages_of_bench_and_kit(signed_in, kit):
    for n in range(7):
        capture = still(kit, 60 + n, 140 - 20 * n, 0.8 + 0.12 * n)
        Verdict.objects.filter(capture=capture).update(noise_uv=0.8 + 0.12 * n)
    store_upload(kit_files(kit.code))
    Verdict.objects.filter(capture__test="still", capture__kit=kit, noise_uv__lt=0.75).update(
        noise_uv=1.7
    )
    conclude(kit)
    warning = kit.bench_tests.get(current=True).warnings[0]
    assert "drifts: it meets 2.00 µV" in warning
    for address in (reverse("readiness:bench"), reverse("readiness:kit_bench", args=[kit.code])):
        assert warning in html.unescape(signed_in.get(address).content.decode())
