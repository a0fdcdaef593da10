"""The table of what the tests reach, and who decides by it."""

import pytest

from kitdesk import coverage_gate, test_run
from kitdesk.coverage_gate import Reach, check_coverage

GOOD = Reach(lines=95, lines_of=100, branches=20, branches_of=20)
TEMPLATE = {"KITDESK_TEST_TEMPLATE": "template.sqlite3"}
POOR = Reach(lines=50, lines_of=100, branches=0, branches_of=20)


def _measured(**changed: Reach) -> dict[str, Reach]:
    files = {
        "rentals/actions/pack.py": GOOD,
        "rentals/planning/money.py": GOOD,
        "rentals/lifecycle.py": GOOD,
        "readiness/signal/readers/text.py": GOOD,
        "kitdesk/urls.py": GOOD,
    }
    return files | {name.replace("__", "/") + ".py": reach for name, reach in changed.items()}


@pytest.fixture
def measure(monkeypatch, tmp_path):
    def measured(files: dict[str, Reach]) -> bool:
        monkeypatch.setattr(coverage_gate, "_read", lambda _: files)
        return check_coverage(tmp_path)

    return measured


def test_lines_and_branches_count_together():
    assert GOOD.percent == pytest.approx(100 * 115 / 120)
    assert Reach().percent == 100.0


def test_every_goal_met_passes_and_the_table_names_each_package(measure, capsys):
    assert measure(_measured())
    table = capsys.readouterr().out
    for package in ("kitdesk ", "rentals ", "rentals/actions", "readiness/signal"):
        assert package in table
    assert "MISSED" not in table


def test_one_poor_package_fails_though_all_together_is_well(measure, capsys):
    many = {f"kitdesk__page{number}": GOOD for number in range(50)}
    assert not measure(_measured(rentals__actions__issue=POOR, **many))
    missed = [line for line in capsys.readouterr().out.splitlines() if "MISSED" in line]
    assert len(missed) == 1
    assert missed[0].startswith("rentals/actions")


def test_the_whole_is_judged_too(measure, capsys):
    poor = {f"kitdesk__page{number}": POOR for number in range(9)}
    assert not measure(_measured(**poor))
    assert "all" in next(x for x in capsys.readouterr().out.splitlines() if "MISSED" in x)


def test_a_goal_without_any_file_is_missed(measure):
    files = _measured()
    del files["rentals/lifecycle.py"]
    assert not measure(files)


@pytest.mark.night
def test_the_table_is_read_from_a_real_run(tmp_path):
    from coverage import Coverage

    measured = Coverage(
        data_file=str(tmp_path / "data"), branch=True, source=["kitdesk"], config_file=False
    )
    measured.start()
    Reach().percent  # noqa: B018  (something of the project is run)
    measured.stop()
    measured.save()
    files = coverage_gate._read(tmp_path / "data")
    assert any(path.endswith("kitdesk/coverage_gate.py") for path in files)


class TestTheFirstRun:
    @pytest.fixture
    def calls(self, monkeypatch) -> list[tuple[list[str], dict[str, str]]]:
        calls: list[tuple[list[str], dict[str, str]]] = []

        def pytest_stands_in(words, more):
            calls.append((words, more))
            return 0

        monkeypatch.setattr(test_run, "_pytest", pytest_stands_in)
        return calls

    def test_measures_nothing_by_itself(self, calls, monkeypatch):
        monkeypatch.delenv("KITDESK_COVERAGE", raising=False)
        assert test_run._on_sqlite(["-x"], TEMPLATE) == 0
        ((words, more),) = calls
        assert words[-3:] == ["-m", "not postgres and not engines and not night", "-x"]
        assert more == TEMPLATE

    @pytest.mark.parametrize(("met", "outcome"), [(True, 0), (False, 1)])
    def test_measures_where_it_is_asked_to_and_fails_below_the_goals(
        self, calls, monkeypatch, met, outcome
    ):
        monkeypatch.setenv("KITDESK_COVERAGE", "1")
        monkeypatch.setattr(coverage_gate, "check_coverage", lambda _: met)
        assert test_run._on_sqlite(["-x"], TEMPLATE) == outcome
        (measured, more), (long_ones, more_of_long) = calls
        assert measured[:2] == ["--cov", "--cov-report="]
        assert measured[-2:] == [
            "not postgres and not engines and not (browser or slow or night)",
            "-x",
        ]
        assert TEMPLATE.items() < more.items() and "COVERAGE_FILE" in more
        assert long_ones[-2:] == [
            "not postgres and not engines and (browser or slow or night)",
            "-x",
        ]
        assert more_of_long == TEMPLATE
