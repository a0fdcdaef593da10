"""The study counts rightly: intervals and power against SciPy, tables against kits made up by
hand.
"""

from __future__ import annotations

import json

import numpy as np
import pytest
from django.core.management import call_command
from scipy.stats import binomtest, chi2

from readiness.signal.catalogue import CATALOGUE
from readiness.signal.simulator.captures import FILE_FAULTS, KIT_FAULTS, TROUBLES, Fault
from readiness.signal.study import curves, report
from readiness.signal.study.cohort import (
    CASES,
    DECK,
    PLANS,
    SOUND,
    Answer,
    Case,
    KitScored,
    Scored,
    make_kit,
    run_kits,
    score_kit,
)
from readiness.signal.study.counts import Share, clopper_pearson, noise_power, share
from readiness.signal.study.tally import goals, naming, plain, tally

FIT = Answer("fit", ())
UNPROVEN = Answer("retest", (("lead_unproven", "ground", "retest"),))


def not_fit(code: str, lead: str | None = None) -> Answer:
    return Answer("not fit", ((code, lead, "not fit"),))


def kit(
    case: Case,
    view: Answer,
    noise: tuple[float, float, float] | None = (1.0, 0.9, 1.1),
    true: float = 1.0,
) -> KitScored:
    tests = {test: Scored(view, True, 5.0, noise, true) for test in CATALOGUE}
    fault = None if case is SOUND else Fault(case.kind, lead=case.lead)
    return KitScored(0, case, fault, "quiet", tests, dict.fromkeys(PLANS, view))


@pytest.mark.parametrize(("hits", "total"), [(0, 100), (1, 300), (7, 20), (50, 50)])
def test_binomial_interval_is_clopper_and_pearsons(hits: int, total: int) -> None:
    expected = binomtest(hits, total).proportion_ci(0.95, method="exact")
    assert clopper_pearson(hits, total) == pytest.approx((expected.low, expected.high), abs=1e-9)


def test_no_hit_in_a_hundred_leaves_up_to_3_6_percent_open() -> None:
    assert clopper_pearson(0, 100)[1] == pytest.approx(1 - 0.025**0.01)  # closed form for no hit
    assert clopper_pearson(0, 0) == (0.0, 1.0)
    with pytest.raises(ValueError, match="5 hits of 4"):
        clopper_pearson(5, 4)


def test_power_at_the_limit_is_the_level_and_grows_from_there() -> None:
    at_limit = noise_power(1.0, 7792)
    assert (at_limit.fails, at_limit.not_passed) == pytest.approx((0.05, 0.95))
    above = noise_power(1.02, 7792)
    assert above.fails == pytest.approx(chi2.sf(chi2.isf(0.05, 7792) / 1.02**2, 7792), abs=1e-9)
    assert above.not_passed > above.fails > 0.5
    # Monte Carlo, 4,000 draws: standard error below 0.8 %.
    drawn = 1.01**2 * np.random.default_rng(1).chisquare(7792, 4000)
    assert np.mean(drawn > chi2.isf(0.05, 7792)) == pytest.approx(
        noise_power(1.01, 7792).fails, abs=0.03
    )


def test_every_fault_and_trouble_of_the_model_is_in_the_study() -> None:
    assert {case.kind for case in DECK} == {"sound", *KIT_FAULTS, *FILE_FAULTS, *TROUBLES}
    assert [case.lead for case in CASES if case.kind == "intermittent_lead"] == [
        "A",
        "B",
        "ground",
    ]


def test_naming_counts_a_second_lead_as_wrong_and_none_as_open() -> None:
    both = Answer("not fit", (("open_lead", "A", "not fit"), ("open_lead", "B", "not fit")))
    views = [
        (not_fit("open_lead", "A"), "A"),
        (both, "A"),
        (not_fit("open_lead"), "A"),
        (FIT, "A"),
        (UNPROVEN, "A"),
    ]
    named = naming(views)
    assert (named["named_right"], named["named_wrong"], named["named_none"]) == (
        Share(1, 3),
        Share(1, 3),
        Share(1, 3),
    )


def test_goals_keep_intermittent_ground_and_unproven_ground_apart() -> None:
    kits = [
        kit(SOUND, FIT),
        kit(SOUND, UNPROVEN),
        kit(
            SOUND,
            Answer(
                "retest", (("lead_unproven", "A", "retest"), ("lead_unproven", "ground", "retest"))
            ),
        ),
        kit(SOUND, not_fit("excess_noise")),
        kit(Case("intermittent_lead", "ground"), FIT),
        kit(Case("intermittent_lead", "A"), FIT),
        kit(Case("open_lead", "B"), not_fit("open_lead", "A")),
        kit(Case("bench_interference"), not_fit("excess_noise")),
        kit(Case("battery_low"), not_fit("battery_low")),
    ]
    figures = goals(kits, "still+flex+lift")
    assert figures["fault_passed"] == Share(1, 3)
    assert figures["worst_fault_passed"] == Share(1, 1)
    assert figures["ground_gap_passed"] == Share(1, 1)
    assert figures["sound_not_fit"] == Share(1, 4)
    assert figures["sound_retest"] == Share(2, 4)
    assert figures["sound_retest_but_ground"] == Share(1, 4)
    assert figures["named_wrong"] == Share(1, 1)
    assert figures["hum_called_fault"] == Share(1, 1)


def test_coverage_counts_intervals_that_hold_the_truth() -> None:
    kits = [
        kit(SOUND, FIT),
        kit(SOUND, FIT, (1.0, 0.9, 1.1), 1.2),
        kit(SOUND, FIT, None),
        kit(Case("burst_noise"), FIT),
    ]
    row = tally(kits)["coverage"]["still"]
    assert row["inside"] == Share(1, 2)
    assert row["mean_ratio"] == pytest.approx((1 + 1 / 1.2) / 2)


def test_a_table_leaves_out_captures_that_do_not_carry_the_slip() -> None:
    slipped = kit(Case("not_on_bar"), UNPROVEN)
    slipped.tests["flex"] = Scored(FIT, False, 5.0, None, 1.0)
    tables = tally([slipped])["tests"]
    assert tables["flex"] == []
    assert tables["still"][0]["retest"] == Share(1, 1)


def test_shares_show_hits_interval_and_total() -> None:
    assert str(share([True, False])) == " 50.0 % [1.3, 98.7] of 2"
    assert str(Share(0, 0)) == "-"
    figures = json.loads(json.dumps(plain({"a": [Share(0, 0), {"b": Share(2, 2)}]})))
    assert figures["a"][1]["b"]["hits"] == 2


def test_a_kit_of_the_study_can_be_made_again() -> None:
    one, again, other = make_kit(10, 3), make_kit(10, 3), make_kit(10, 4)
    for test in CATALOGUE:
        assert np.array_equal(
            one.captures[test].capture.emg.samples, again.captures[test].capture.emg.samples
        )
    assert one.setup == again.setup != other.setup


def test_a_small_study_runs_through_the_scorer_and_prints_every_part(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    wanted = (
        SOUND,
        Case("dead_channel"),
        Case("leads_shorted"),
        Case("open_lead", "A"),
        Case("battery_low"),
    )
    kits = [score_kit(DECK.index(case), seed=2) for case in wanted]
    figures = tally(kits)
    assert figures["captures"] == 25
    rows = {row["case"]: row for row in figures["plans"]["still+flex+lift"]}
    assert (
        rows["sound"]["fit"]
        == rows["dead_channel"]["not fit"]
        == rows["battery_low"]["not fit"]
        == Share(1, 1)
    )
    assert all(row["fit"] == Share(0, 1) for name, row in rows.items() if name != "sound")
    for module in (curves, report):
        monkeypatch.setattr(module, "DURATIONS_S", (0.002, 0.1))
    monkeypatch.setattr(curves, "NOISE_TIMES", (1.0, 1.5))
    text = report.report(figures, curves.open_curve(2, 2), curves.noise_curve(2, 2))
    for words in (
        "judged on with ground",
        "`worn` alone",
        "cannot be seen here",
        "chi-square power",
        "ground ground",
    ):
        assert words in text
    assert report.miss_lines(kits) == []


def test_two_processes_give_the_same_kits_as_one() -> None:
    def verdicts(workers: int) -> list[dict[str, Answer]]:
        return [scored.plans for scored in run_kits(10, seed=5, workers=workers)]

    assert verdicts(2) == verdicts(1)


def test_the_command_prints_json_and_single_kits(capsys: pytest.CaptureFixture[str]) -> None:
    call_command("study", captures=10, seed=4, workers=1, curves=0, json=True)
    figures = json.loads(capsys.readouterr().out)
    assert figures["kits"] == 2
    assert set(figures["plans"]) == set(PLANS)
    call_command("study", kit=12, seed=4)
    assert capsys.readouterr().out.startswith("kit 12: ")
