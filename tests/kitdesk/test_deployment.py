"""The page of deployment and its files: well formed, and of things that exist. `.ci/deploy/try`
follows it in earnest, by night.
"""

import importlib.util
import itertools
import json
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.management import get_commands
from django.urls import reverse
from gunicorn.config import Config

from kitdesk import request_sizes
from kitdesk.door import gate
from kitdesk.door.problems import problem_answer
from tests.test_docs import _settings_in_table

ROOT = Path(__file__).resolve().parent.parent.parent
PAGE = (ROOT / "kitdesk" / "deployment.md").read_text(encoding="utf-8")
FILES = ROOT / "kitdesk" / "deploy"
UNITS = sorted(FILES.glob("kitdesk-*.*"))
SERVICES = [path for path in UNITS if path.suffix == ".service"]
pytestmark = pytest.mark.any_database


def _blocks(monkeypatch):
    """The lines of the page, read by what runs them at night."""
    spec = importlib.util.spec_from_file_location("page", ROOT / ".ci" / "deploy" / "page.py")
    page = importlib.util.module_from_spec(spec)
    # Where dataclasses look for the names of their own module.
    monkeypatch.setitem(sys.modules, "page", page)
    spec.loader.exec_module(page)
    return page.blocks_of(PAGE)


def _lines(path: Path) -> list[tuple[str, str]]:
    text = path.read_text(encoding="utf-8")
    return re.findall(r"^(\w+)=(.*)$", text, re.MULTILINE)


def test_every_section_with_lines_is_found_and_its_lines_are_for_the_shell(monkeypatch):
    blocks = _blocks(monkeypatch)
    assert [*blocks] == list(range(1, 10))
    for block in itertools.chain(*blocks.values()):
        checked = subprocess.run(["bash", "-n"], input=block, text=True, capture_output=True)
        assert checked.returncode == 0, checked.stderr


def test_every_command_of_the_page_exists():
    named = re.findall(r"^    (?:CODE=\S+ )?kitdesk (\w+)", PAGE, re.MULTILINE)
    assert len(named) > 8
    assert set(named) <= {*get_commands()}


def test_every_setting_of_the_environment_is_in_the_table():
    named = re.findall(r"^#?([A-Z_]+)=", (FILES / "environment").read_text(), re.MULTILINE)
    assert "KITDESK_LOG_KEY" in named
    assert set(named) <= _settings_in_table()


def test_every_mark_of_the_environment_is_filled_in_by_the_page():
    marks = set(re.findall(r"@[A-Z_]+@", (FILES / "environment").read_text()))
    assert marks == set(re.findall(r"@[A-Z_]+@", PAGE))


@pytest.mark.parametrize("path", SERVICES, ids=lambda path: path.name)
def test_what_a_unit_starts_exists_and_takes_these_words(path):
    values = dict(_lines(path))
    assert values["EnvironmentFile"] == "/etc/kitdesk/environment"
    for _, line in (pair for pair in _lines(path) if pair[0] == "ExecStart"):
        program, *words = shlex.split(line.removeprefix(values["WorkingDirectory"] + "/"))
        if program.endswith("gunicorn"):
            _parse_gunicorn(words)
        else:
            assert program == ".venv/bin/python" and words[0] == "manage.py"
            assert words[1] in get_commands()


def _parse_gunicorn(words):
    parsed = Config().parser().parse_args(words)
    assert parsed.args == ["kitdesk.wsgi"]
    # Nothing kept to the proxy: a form must not meet a connection that a restart closes.
    assert parsed.keepalive == 0


def test_units_name_units_that_are_there():
    names = {path.name for path in UNITS}
    wanted = {value for path in UNITS for key, value in _lines(path) if key == "Requires"}
    wanted |= {re.sub(r"@\d", "@", name) for name in re.findall(r"kitdesk-[\w@]+\.\w+", PAGE)}
    assert len(wanted) >= 5
    assert wanted <= names


def test_the_proxy_lets_in_what_the_desk_takes_and_holds_braces_in_pairs():
    text = (FILES / "nginx.conf").read_text(encoding="utf-8")
    assert text.count("{") == text.count("}")
    sizes = {int(size) for size in re.findall(r"client_max_body_size (\d+)m;", text)}
    mib = 1024 * 1024
    assert min(sizes) * mib >= request_sizes.STUDENT
    assert max(sizes) * mib > request_sizes.LARGEST
    (place,) = re.findall(r"location ~ (\S+)", text)
    for page in (reverse("readiness:bench_upload"), reverse("readiness:round_drop", args=["K1"])):
        assert page.endswith(request_sizes.CAPTURE_PAGES) and re.search(place, page)


def test_a_program_that_forgets_tls_is_told_so_by_the_proxy_as_by_the_desk():
    text = (FILES / "nginx.conf").read_text(encoding="utf-8")
    (said,) = re.findall(r"location /api/v1/ \{[^}]*return 403 '(.*)';", text)
    assert json.loads(said) == json.loads(problem_answer(403, gate.PLAIN).content)
