"""``demo``: loaded once, afresh on request, mended when cut short. The scenario itself is tried
elsewhere.
"""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from kitdesk.database_template import SETTING
from tests.hour import BY_NIGHT
from tests.kitdesk.migrated import copy_template

ROOT = Path(__file__).resolve().parent.parent.parent
# Stands in for the scenario, which takes longer: it notes each load, and breaks off when told to.
CODE = """
import os, shutil, sys, types
from pathlib import Path
import kitdesk
scenario = types.ModuleType("kitdesk.demo.load")
def load_demo(out):
    from django.contrib.auth import get_user_model
    out.write(f"loading for {get_user_model().objects.get().username}")
    if os.environ.get("BREAK_OFF"):
        raise KeyboardInterrupt
scenario.load_demo = load_demo
# A folder made empty gets the run's migrated file: migrating is tried elsewhere.
import django
django.setup()
from kitdesk.management.commands import demo
wipe = demo._wipe
def wipe_all_but_a_migrated_file(folder):
    wipe(folder)
    if template := os.environ.get("TEMPLATE"):
        shutil.copyfile(template, folder / "kitdesk.sqlite3")
demo._wipe = wipe_all_but_a_migrated_file
sys.modules["kitdesk.demo"] = types.ModuleType("kitdesk.demo")
sys.modules["kitdesk.demo.load"] = scenario
from django.core.management import execute_from_command_line
# One program for several runs: starting it is what takes the time.
for words in " ".join(sys.argv[1:]).split(" then "):
    execute_from_command_line(["manage.py", "demo", "--no-serve", *words.split()])
    kept = Path(os.environ["KITDESK_VAR"], "media", "old.csv").exists()
    print(f"AFTER demo {words}, old.csv is {'there' if kept else 'gone'}")
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    copy_template(tmp_path / "demo")
    return tmp_path / "demo"


def _verified(folder: Path) -> str:
    """What another process says of the log, with the key that it finds."""
    done = _run(folder, "-m", "django", "verify")
    return (done.stdout + done.stderr).strip()


def _demo(folder: Path, *words: str, **given: str) -> subprocess.CompletedProcess[str]:
    template = "" if BY_NIGHT else os.environ.get(SETTING, "")
    return _run(folder, "-c", CODE, *words, TEMPLATE=template, **given)


def _run(folder: Path, *words: str, **given: str) -> subprocess.CompletedProcess[str]:
    kept = {name: os.environ[name] for name in ("PATH", "HOME", "SYSTEMROOT") if name in os.environ}
    return subprocess.run(
        [sys.executable, *words],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
        env=kept
        | given
        | {
            "KITDESK_VAR": str(folder),
            "DJANGO_SETTINGS_MODULE": "kitdesk.settings",
        },
    )


@pytest.mark.slow
def test_is_loaded_once_and_afresh_on_request(folder):
    first = _demo(folder, "--port", "8123")
    assert first.returncode == 0, first.stderr
    assert "loading for owner" in first.stdout
    assert "http://127.0.0.1:8123" in first.stdout
    assert "name      owner" in first.stdout and "password  look-round-24" in first.stdout
    (folder / "media").mkdir(exist_ok=True)
    (folder / "media" / "old.csv").touch()
    key = (folder / "secret.key").read_text()
    done = _demo(folder, "--host", "0.0.0.0", "then", "--reset")
    assert done.returncode == 0, done.stderr
    again, reset = done.stdout.split("AFTER demo --host 0.0.0.0, old.csv is there")
    assert "loading" not in again and "loaded already" in again
    assert "Everybody on this network can sign in" in again
    assert "loading for owner" in reset
    assert "AFTER demo --reset, old.csv is gone" in reset
    assert (folder / "secret.key").read_text() == key
    assert "All in order" in _verified(folder)


@pytest.mark.night
def test_a_load_that_was_cut_short_starts_from_nothing(folder):
    assert _demo(folder, BREAK_OFF="1").returncode != 0
    assert not (folder / "loaded.txt").exists()
    (folder / "media").mkdir(exist_ok=True)
    (folder / "media" / "half.csv").touch()
    again = _demo(folder)
    assert "loading for owner" in again.stdout
    assert not (folder / "media" / "half.csv").exists()
