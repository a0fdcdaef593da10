"""The documents hold what they say: commands, settings, files and links exist; sentences are
short.
"""

import ast
import re
from pathlib import Path

import pytest
from django.core.management import get_commands, load_command_class

ROOT = Path(__file__).resolve().parent.parent
DOCS = [
    "README.md",
    "DEVELOPERS.md",
    "kitdesk/README.md",
    "kitdesk/deployment.md",
    "kitdesk/sizing.md",
    "readiness/signal/README.md",
]
LONGEST_SENTENCE = 30
LONGEST_README = 1200
LARGEST_PICTURE = 150_000
FOLDERS = ("kitdesk", "rentals", "readiness", "templates", "static", "tests", "fixtures", r"\.ci")


def _text(name: str) -> str:
    return (ROOT / name).read_text(encoding="utf-8")


def _settings_in_table() -> set[str]:
    table = _text("kitdesk/README.md").partition("## Settings")[2].partition("\n## ")[0]
    return set(re.findall(r"^\| `([A-Z0-9_]+)` \|", table, re.MULTILINE))


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
    assert named
    # The suite itself runs before Django is there to know of it.
    assert named <= {*get_commands(), "test"}


@pytest.mark.parametrize("name", DOCS)
def test_every_option_of_a_command_that_is_named_exists(name):
    for command, words in re.findall(r"manage\.py ([a-z_]+)((?: [^\s`|]+)*)", _text(name)):
        named = {word.partition("=")[0] for word in words.split() if word.startswith("--")}
        if command == "test" or not named:
            continue
        app = get_commands()[command]
        parser = load_command_class(app, command).create_parser("manage.py", command)
        known = {option for action in parser._actions for option in action.option_strings}
        assert named <= known, f"{name}: {command}"


@pytest.mark.parametrize("name", DOCS)
def test_every_option_of_a_script_that_is_named_exists(name):
    for script, words in re.findall(r"(\.ci/[\w/]+)((?: [^\s`|]+)*)", _text(name)):
        text = _text(script) if (ROOT / script).is_file() else ""
        named = [word for word in words.split() if word.startswith("--")]
        assert not [word for word in named if word not in text], f"{name}: {script}"


def test_every_setting_of_the_table_is_read_and_every_one_read_is_in_the_table():
    assert _settings_in_table() == _settings_read()


@pytest.mark.parametrize("name", DOCS)
def test_every_setting_that_is_named_is_known(name):
    """What is set from outside: in the table, or read by the suite."""
    named = set(re.findall(r"`([A-Z]+(?:_[A-Z0-9]+)+)(?:=[^`]*)?`", _text(name)))
    elsewhere = "".join(
        path.read_text(encoding="utf-8")
        for folder in ("kitdesk", "rentals", "readiness", "tests")
        for path in (ROOT / folder).rglob("*.py")
    )
    assert not [word for word in named if word not in elsewhere]


@pytest.mark.parametrize("name", DOCS)
def test_every_file_that_is_named_exists(name):
    named = re.findall(rf"`((?:{'|'.join(FOLDERS)})/[\w/.-]*)`", _text(name))
    missing = [path for path in named if not (ROOT / path).exists()]
    assert not missing, f"{name} names {missing}"


@pytest.mark.parametrize("name", DOCS)
def test_every_link_leads_to_a_file(name):
    folder = (ROOT / name).parent
    targets = re.findall(r"\]\(([^)#:]+)\)", _text(name))
    assert not [target for target in targets if not (folder / target).is_file()]


def test_every_part_and_block_that_a_recipe_names_is_there():
    named = re.findall(r"`(_\w+\.html)`", _text("DEVELOPERS.md"))
    assert named
    assert not [part for part in named if not (ROOT / "templates" / "_parts" / part).is_file()]


def test_every_name_of_the_code_that_a_recipe_names_is_there():
    recipes = _text("DEVELOPERS.md").partition("## Recipes")[2].partition("## Decisions")[0]
    words = set(re.findall(r"`([A-Za-z_]\w{3,})`", recipes))
    code = "".join(
        path.read_text(encoding="utf-8")
        for folder in ("rentals", "readiness", "templates")
        for path in (ROOT / folder).rglob("*.*")
        if path.suffix in (".py", ".html")
    )
    assert not [word for word in sorted(words) if word not in code]


def test_a_tired_reader_gets_through():
    assert len(_text("README.md").split()) <= LONGEST_README


@pytest.mark.parametrize("name", DOCS)
def test_sentences_are_short(name):
    long_sentences = [
        sentence
        for paragraph in _paragraphs(_text(name))
        for sentence in re.split(r"(?<=[.:!?])\s", paragraph)
        if len(sentence.split()) > LONGEST_SENTENCE
    ]
    assert not long_sentences


def _paragraphs(text: str) -> list[str]:
    """Running text and list items; no tables, no indented code."""
    lines = [line for line in text.splitlines() if not line.startswith(("|", "    ", "#"))]
    return re.split(r"\n\s*\n|\n(?=- |\d+\. )", "\n".join(lines))


def test_the_pictures_are_compact():
    pictures = sorted((ROOT / "fixtures" / "pictures").iterdir())
    assert [path.name for path in pictures] == ["bench.png", "today.png"]
    for path in pictures:
        assert path.read_bytes().startswith(b"\x89PNG")
        assert path.stat().st_size <= LARGEST_PICTURE


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
