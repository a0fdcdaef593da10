"""README and DEVELOPERS hold what they say: commands, settings, files and links exist."""

import ast
import re
from pathlib import Path

import pytest
from django.core.management import get_commands

ROOT = Path(__file__).resolve().parent.parent
DOCS = ["README.md", "DEVELOPERS.md"]


def _text(name: str) -> str:
    return (ROOT / name).read_text(encoding="utf-8")


def _settings_in_table() -> set[str]:
    table = _text("README.md").partition("## Settings")[2].partition("\n## ")[0]
    return set(re.findall(r"^\| `([A-Z_]+)` \|", table, re.MULTILINE))


def _settings_read() -> set[str]:
    """First arguments of env.str(...), env.bool(...) and the like in the settings."""
    calls = [
        node
        for node in ast.walk(ast.parse(_text("kitdesk/settings.py")))
        if isinstance(node, ast.Call)
    ]
    return {
        call.args[0].value
        for call in calls
        if isinstance(call.func, ast.Attribute)
        and isinstance(call.func.value, ast.Name)
        and call.func.value.id == "env"
        and isinstance(call.args[0], ast.Constant)
    }


@pytest.mark.parametrize("name", DOCS)
def test_every_command_that_is_named_exists(name):
    named = set(re.findall(r"manage\.py ([a-z_]+)", _text(name)))
    assert {"test"} <= named
    assert named <= set(get_commands()), f"{name} names {sorted(named - set(get_commands()))}"


def test_every_setting_of_the_table_is_read_and_every_one_read_is_in_the_table():
    assert _settings_in_table() == _settings_read()


@pytest.mark.parametrize("name", DOCS)
def test_every_file_that_is_named_exists(name):
    named = re.findall(
        r"`((?:kitdesk|rentals|readiness|templates|static|tests)/[\w/.-]*)`", _text(name)
    )
    missing = [path for path in named if not (ROOT / path).exists()]
    assert not missing, f"{name} names {missing}"


def test_options_of_the_two_commands_are_those_of_the_table():
    from kitdesk.management.commands import demo, start

    table = _text("README.md").partition("| option of")[2].partition("\n\n")[0]
    named = set(re.findall(r"^\| `(--[a-z-]+)", table, re.MULTILINE))
    usual = {
        "--help",
        "--version",
        "--verbosity",
        "--settings",
        "--pythonpath",
        "--traceback",
        "--no-color",
        "--force-color",
        "--skip-checks",
    }
    offered = set()
    for module in (demo, start):
        parser = module.Command().create_parser("manage.py", "x")
        offered |= {
            option
            for action in parser._actions
            for option in action.option_strings
            if option[:2] == "--"
        }
    assert named == offered - usual


def test_the_fixtures_that_are_named_exist():
    from tests import conftest

    named = re.search(r"Fixtures \(.*?\n- ", _text("DEVELOPERS.md"), re.DOTALL)
    assert named
    for word in re.findall(r"`(\w+)(?:\([^`]*\))?`", named[0]):
        assert hasattr(conftest, word), word
