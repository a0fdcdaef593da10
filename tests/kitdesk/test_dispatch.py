"""Which program a command line reaches, and what the demo is kept away from."""

import contextlib
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command

from kitdesk import database_template, dispatch, test_run, throwaway_postgres

ROOT = Path(__file__).resolve().parent.parent.parent


def test_the_demo_never_meets_the_real_database_or_mails_anybody(monkeypatch):
    monkeypatch.setattr(
        os, "environ", {"DATABASE_URL": "postgres://x", "EMAIL_URL": "smtp://x", "TIME_ZONE": "UTC"}
    )
    dispatch.use_demo_data()
    assert os.environ == {"KITDESK_VAR": str(ROOT / "var" / "demo"), "TIME_ZONE": "UTC"}


def test_the_demo_refuses_to_load_into_another_folder(settings):
    with pytest.raises(CommandError, match="on its own data in var/demo"):
        call_command("demo", "--no-serve")


def test_tests_go_to_pytest_without_django(monkeypatch):
    monkeypatch.setattr(test_run, "main", lambda words: (words, 3)[1])
    assert dispatch.run(["manage.py", "test", "-x"]) == 3


def test_an_unknown_command_is_named():
    code = "import sys; from kitdesk.dispatch import run; sys.exit(run(['manage.py', 'levitate']))"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert "levitate" in done.stderr


def test_a_data_folder_that_cannot_be_made_is_said_before_anything_else(
    monkeypatch, tmp_path, capsys
):
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setenv("KITDESK_VAR", str(tmp_path / "file" / "desk"))
    assert dispatch.run(["manage.py", "start"]) == 1
    assert "cannot make its data folder" in capsys.readouterr().err
    monkeypatch.setenv("KITDESK_VAR", str(tmp_path / "new" / "desk"))
    monkeypatch.setattr(os, "access", lambda path, mode: False)
    assert "may not write to its data folder" in str(dispatch.data_folder_problem())
    monkeypatch.undo()
    monkeypatch.setenv("KITDESK_VAR", str(tmp_path / "new" / "desk"))
    assert dispatch.data_folder_problem() is None


def without_templates(monkeypatch) -> None:
    """No run that is only looked at migrates a database."""
    none = contextlib.nullcontext({})
    monkeypatch.setattr(database_template, "migrated_file", lambda: none)
    monkeypatch.setattr(database_template, "migrated_on_server", lambda address: none)


@pytest.fixture
def runs(monkeypatch) -> list[tuple[list[str], dict[str, str]]]:
    """What would be handed to pytest, run by run; each run passes."""
    monkeypatch.delenv("DATABASE_URL", raising=False)
    monkeypatch.delenv("KITDESK_COVERAGE", raising=False)
    monkeypatch.delenv("KITDESK_TEST_POSTGRES", raising=False)
    without_templates(monkeypatch)
    calls: list[tuple[list[str], dict[str, str]]] = []
    monkeypatch.setattr(test_run, "_pytest", lambda words, more: calls.append((words, more)) or 0)
    return calls


def test_the_whole_suite_runs_on_both_databases(runs, monkeypatch):
    monkeypatch.setenv("KITDESK_TEST_POSTGRES", "postgres://kitdesk@127.0.0.1/kitdesk")
    assert test_run.main([]) == 0
    (first, no_more), (second, more) = runs
    assert first[-2:] == ["-m", "not postgres and not engines and not night"] and no_more == {}
    assert second[-2:] == ["-m", "not browser and not engines and not night"]
    assert more["DATABASE_URL"] == "postgres://kitdesk@127.0.0.1/kitdesk"


@pytest.mark.parametrize(
    "words",
    [["tests/kitdesk"], ["-k", "kit"], ["-m", "engines"], ["tests/conftest.py::test_x"], ["--lf"]],
)
def test_a_choice_of_tests_makes_one_quick_run(words, runs):
    assert test_run.main(words) == 0
    assert runs == [(words, {})]


@pytest.mark.parametrize(("required", "code"), [("", 0), ("browser", 0), ("browser,postgres", 1)])
def test_a_missing_postgres_is_said_and_fails_only_when_asked_for(
    required, code, runs, monkeypatch, capsys
):
    monkeypatch.setattr(throwaway_postgres, "programs", lambda: None)
    monkeypatch.setenv("KITDESK_REQUIRE", required)
    assert test_run.main([]) == code
    assert "apt-get install postgresql" in capsys.readouterr().out
    assert len(runs) == 1


def test_a_failure_on_either_database_is_the_outcome(monkeypatch):
    monkeypatch.delenv("DATABASE_URL", raising=False)
    monkeypatch.delenv("KITDESK_COVERAGE", raising=False)
    monkeypatch.setenv("KITDESK_TEST_POSTGRES", "postgres://kitdesk@127.0.0.1/kitdesk")
    without_templates(monkeypatch)
    for outcomes, code in (
        ((0, 1), 1),
        ((1, 0), 1),
        ((0, 0), 0),
        ((0, test_run.NOTHING_SELECTED), 0),
    ):
        coming = iter(outcomes)
        monkeypatch.setattr(test_run, "_pytest", lambda words, more, coming=coming: next(coming))
        assert test_run.main([]) == code
