"""Faults that are noticed, go unnoticed, or never end."""

import pytest

from kitdesk.mutation import trial
from kitdesk.mutation.core import CoreModule

SETTLED = "rentals.planning.money"


@pytest.fixture(scope="module")
def trials(tmp_path_factory) -> trial.Trials:
    tests = tmp_path_factory.mktemp("trial") / "test_rounding.py"
    tests.write_text(
        "from decimal import Decimal\n"
        f"from {SETTLED} import round_money\n"
        "def test_rounding():\n"
        "    assert round_money(Decimal('1.005'), 'EUR') == Decimal('1.01')\n",
        encoding="utf-8",
    )
    return trial.Trials(CoreModule(SETTLED, (str(tests),)), tests.parent)


@pytest.mark.night
@pytest.mark.slow
def test_a_fault_is_noticed_when_a_test_fails_or_the_module_cannot_be_loaded(trials):
    sound = trials.module.path.read_text(encoding="utf-8")
    assert trials.pass_with(sound)
    assert not trials.pass_with(sound.replace("ROUND_HALF_UP", "ROUND_DOWN"))
    assert not trials.pass_with("no python at all")


@pytest.mark.slow
def test_a_fault_that_never_ends_counts_as_noticed(trials, monkeypatch):
    monkeypatch.setattr(trials, "longest_s", 1.0)
    assert not trials.pass_with("while True:\n    pass\n")


@pytest.mark.slow
def test_tests_that_fail_on_the_sound_module_are_refused(tmp_path):
    tests = tmp_path / "test_wrong.py"
    tests.write_text("def test_wrong():\n    assert False\n", encoding="utf-8")
    with pytest.raises(RuntimeError, match="do not pass"):
        trial.Trials(CoreModule(SETTLED, (str(tests),)), tmp_path)
