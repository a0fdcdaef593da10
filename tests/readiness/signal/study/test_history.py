"""What a kit's own history would prove, counted beside what today's lift proves alone."""

import pytest

from readiness.signal.result import Measurement, Result, Scores
from readiness.signal.study import history
from readiness.signal.study.history import Lifted, all_proven, as_usual, history_lines

pytestmark = pytest.mark.any_database


def lift(proven, **values):
    rows = tuple(Measurement(name, value, "ratio") for name, value in values.items())
    return Result("lift", "retest", Scores(), (), rows, proven, (), (), 50.0)


def test_a_reaction_counts_as_usual_within_three_earlier_ones_that_proved_the_lead():
    earlier = [lift(("A",), lift_ratio_A=ratio) for ratio in (8.0, 12.0, 30.0)]
    assert as_usual("A", lift((), lift_ratio_A=9.0), earlier)
    assert not as_usual("A", lift((), lift_ratio_A=7.9), earlier)
    assert not as_usual("A", lift((), lift_ratio_A=9.0), earlier[1:])
    assert not as_usual("A", lift(()), earlier)
    unproven = [lift((), lift_ratio_A=9.0) for _ in range(3)]
    assert not as_usual("A", lift((), lift_ratio_A=9.0), unproven)


def test_a_rise_of_hum_must_stand_out_of_noise_however_usual_it_is():
    earlier = [lift(("ground",), ground_hum_ratio=ratio) for ratio in (1.5, 2.0, 3.0)]
    for sigma, proven in ((3.4, False), (3.6, True)):
        today = lift((), ground_hum_ratio=1.8, ground_hum_change=sigma)
        assert as_usual("ground", today, earlier) is proven


def test_shares_are_of_lifts_that_prove_all_and_refuse_nothing():
    all_leads, two = frozenset({"A", "B", "ground"}), frozenset({"A", "B"})
    looks = [
        Lifted("sound", two, all_leads, False),
        Lifted("sound", all_leads, all_leads, True),
    ]
    assert [
        all_proven(looks, lambda look: look.alone).hits,
        all_proven(looks, lambda look: look.with_history).hits,
    ] == [0, 1]


def test_each_kit_is_lifted_today_sound_and_with_each_fault(monkeypatch):
    monkeypatch.setattr(history, "ROUNDS", 0)
    monkeypatch.setattr(history, "TODAY", (("open_lead", "A"),))
    head, _, sound, open_a = history_lines(1, seed=2, workers=1)
    assert head.startswith("A kit's own history, 1 kits")
    assert sound.split()[0] == "sound" and open_a.split()[:2] == ["open_lead", "A"]
    assert "0.0 % [0.0, 97.5] of 1" in open_a
