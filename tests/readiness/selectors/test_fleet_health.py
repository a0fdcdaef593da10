"""Noise, voltage and lead sets of the fleet, kit by kit and by month."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.urls import reverse

from readiness.selectors.fleet_health import fleet_health, still_verdicts
from readiness.signal.limits import Limits
from rentals.actions.issue import retire
from rentals.reports.scope import ReportScope
from tests.factories import EnrolmentFactory, complete_kit
from tests.rentals.selectors.reports.ended import POSTED, ended_loan

from .measured import measured

pytestmark = pytest.mark.django_db
JANUARY = datetime(2026, 1, 10, 9, tzinfo=UTC)


def test_a_kit_stands_with_its_last_values_against_the_limits_they_were_judged_by():
    kit, weak = complete_kit(), complete_kit()
    measured(kit, JANUARY, noise_uv=0.5)
    measured(kit, JANUARY + timedelta(days=40), noise_uv=2.5)
    measured(kit, JANUARY + timedelta(days=50), noise_uv=0.1, set_aside="The bar was dropped.")
    alkaline = Limits(chemistry="alkaline", cells=3)
    measured(weak, JANUARY, noise_uv=None, battery_v=alkaline.battery_limit_v, limits=alkaline)
    report = fleet_health(ReportScope())
    noisy, low = report.rows_of(list(report.things))
    usual = Limits()
    assert noisy[1:4] == ("too noisy", 2.5, usual.noise_uv)
    assert noisy[4:6] == (2.8, usual.battery_limit_v)
    assert noisy[7] == date(2026, 2, 19)
    assert low[1:6] == ("voltage low", None, None, low[5], alkaline.battery_limit_v)
    assert "2 kits were measured" in report.sentence
    assert "above its limit in 1 of 1" in report.sentence
    assert "at its own or below it in 1 of 2" in report.sentence
    noise, volts = report.plots
    assert "2.50 µV in the median of February 2026" in noise.caption
    assert "0.50 µV in the median of January 2026" in noise.caption
    assert volts.svg.count("plot-point") == 2
    assert [row[0] for row in report.twin.rows] == ["January 2026", "February 2026"]
    until = fleet_health(ReportScope(until=date(2026, 1, 31)))
    assert until.rows_of(list(until.things))[0][1:3] == ("within limits", 0.5)


def test_a_run_has_the_kits_that_were_lent_in_it_and_retired_ones_are_left_out():
    loan = ended_loan()
    other = complete_kit()
    for kit in (loan.kit, other):
        measured(kit, POSTED)
    scope = ReportScope(run=loan.enrolment.run.pk, run_name="Run")
    report = fleet_health(scope)
    assert [kit.code for kit in report.things] == [loan.kit.code]
    assert report.rows_of(list(report.things))[0][6] == 1
    assert "lead sets have gone through 1 loan" in report.basis[-1]
    assert still_verdicts(ReportScope(run=EnrolmentFactory().run.pk)).count() == 0
    retire(other, reason="worn")
    assert fleet_health(ReportScope()).things.count() == 1


def test_an_empty_bench_says_what_will_stand_here(signed_in):
    page = signed_in.get(reverse("bench_reports:fleet")).content.decode()
    assert "Once kits have been tested" in page
    measured(complete_kit(), JANUARY)
    page = signed_in.get(reverse("bench_reports:fleet")).content.decode()
    assert page.count("<svg") >= 4
    assert "Noise and voltage by month" in page
    file = signed_in.get(reverse("bench_reports:fleet_file", args=["csv"]))
    assert "0.6,2.0,2.8," in file.getvalue().decode()
    assert signed_in.get(reverse("bench_reports:fleet_file", args=["ods"])).status_code == 404
