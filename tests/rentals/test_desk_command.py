"""A command for a desk begins with the checks of the desk, and with no others."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.checks import Error, register
from django.core.checks.registry import registry
from django.core.management import CommandError, call_command, get_commands, load_command_class

from rentals.desk_command import OF_THE_DESK, DeskCommand

#: These work on Kitdesk itself or on files, and begin with no check.
OF_NO_DESK = {"bom", "lock", "mutate", "score", "speed", "study", "study_plan", "words"}
OURS = ("kitdesk", "rentals", "readiness")


def test_each_command_of_ours_is_for_a_desk_or_said_not_to_be():
    names = {name for name, app in get_commands().items() if app in OURS}
    commands = {name: load_command_class(get_commands()[name], name) for name in names}
    assert {n for n, one in commands.items() if not isinstance(one, DeskCommand)} == OF_NO_DESK


def test_every_check_of_ours_but_that_of_the_program_is_of_the_desk():
    ours = [check for check in registry.get_checks() if check.__module__ == "kitdesk.checks"]
    program = [check.__name__ for check in ours if OF_THE_DESK not in check.tags]
    assert program == ["log_knows_every_table"]


@pytest.mark.django_db
def test_a_check_of_the_desk_stops_it_and_one_of_the_program_does_not(monkeypatch):
    monkeypatch.setattr(registry, "registered_checks", set(registry.registered_checks))
    register(lambda app_configs, **kwargs: [Error("A view lacks.")], "urls")
    call_command("verify", skip_checks=False)
    register(lambda app_configs, **kwargs: [Error("No folder.")], OF_THE_DESK)
    with pytest.raises(CommandError, match="No folder"):
        call_command("verify", skip_checks=False)


def test_a_folder_that_is_none_is_said_before_anything_is_done(tmp_path):
    taken = tmp_path / "taken"
    taken.write_text("a file")
    manage = Path(__file__).resolve().parents[2] / "manage.py"
    environment = os.environ | {"KITDESK_VAR": str(taken)}
    done = subprocess.run(
        [sys.executable, str(manage), "prepare"],
        env=environment,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode and str(taken) in done.stderr and "Traceback" not in done.stderr
