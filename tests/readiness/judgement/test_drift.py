"""A part that drifts towards its limit is warned of, by name and with an interval."""

from datetime import date, timedelta

from readiness.judgement.drift import PartSeries, drift_warning


def drifting(step, **more):
    days = [date(2026, 1, 1) + timedelta(days=20 * n) for n in range(8)]
    values = [0.8 + step * n + 0.005 * (-1) ** n for n in range(8)]
    facts = {
        "part_code": "P00019",
        "title": "Noise floor",
        "unit": "µV",
        "limit": 2.0,
        "rising": True,
    }
    return PartSeries(**{**facts, "days": days, "values": values, **more})


def test_a_drift_names_the_part_and_when_the_limit_is_met_with_an_interval():
    # 0.1 µV in 20 days: from about 1.5 µV on 21 May the 2 µV are 100 days off, on 29 August.
    words = drift_warning(drifting(0.1))
    assert words.startswith("Noise floor of P00019 drifts: it meets 2.00 µV about")
    assert "Aug 2026" in words.split("(")[0]
    assert "at the earliest" in words
    assert "at the latest" in words


def test_no_drift_no_warning():
    assert drift_warning(drifting(0.0)) == ""
    assert drift_warning(drifting(-0.05)) == ""
    assert drift_warning(drifting(0.004)) == "", "a limit years away is no reason to act"


def test_a_pack_that_falls_is_warned_of_too():
    falling = drifting(
        0.0,
        title="Battery",
        unit="V",
        limit=2.4,
        rising=False,
        values=[2.8 - 0.03 * n for n in range(8)],
    )
    assert "it meets 2.40 V about" in drift_warning(falling)


def test_days_that_are_one_day_are_no_course():
    assert drift_warning(drifting(0.1, days=[date(2026, 1, 1)] * 8)) == ""
