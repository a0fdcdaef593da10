"""The way from a bare Python to a running command, tried in a copy of its own with a package that
installs at once.
"""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from kitdesk import bootstrap

ROOT = Path(__file__).resolve().parent.parent.parent
DISPATCH = """
import sys
def run(argv):
    import smallthing
    print("ran", argv[1:], smallthing.VERSION, sys.prefix)
    return 7
"""


def _new_desk(folder: Path) -> Path:
    """A copy of the set-up code whose one requirement is a package that lies beside it."""
    home = folder / "desk"
    (home / "kitdesk").mkdir(parents=True)
    shutil.copy(ROOT / "manage.py", home)
    for name in ("bootstrap.py", "quick_setup.py"):
        shutil.copy(ROOT / "kitdesk" / name, home / "kitdesk")
    (home / "kitdesk" / "__init__.py").touch()
    (home / "kitdesk" / "dispatch.py").write_text(DISPATCH)
    small = _make_wheel(folder / "index", "smallthing", "1.0")
    for_tests = _make_wheel(folder / "index", "testhing", "2.0")
    (home / ".ci").mkdir()
    _lock(home).write_text(f"{small}{bootstrap.TEST_PART}\n{for_tests}")
    return home


def _lock(home: Path) -> Path:
    return home / ".ci" / "requirements.lock"


@pytest.fixture
def desk(tmp_path: Path) -> Path:
    """A desk where nothing ran yet."""
    return _new_desk(tmp_path)


@pytest.fixture(scope="module")
def first_run(tmp_path_factory) -> tuple[Path, subprocess.CompletedProcess[str]]:
    """A desk after its first command, and what that command printed: a set-up takes seconds."""
    desk = _new_desk(tmp_path_factory.mktemp("first"))
    return desk, _run(desk, "demo", "--port", "9000")


@pytest.fixture
def ready_desk(first_run, tmp_path: Path) -> Path:
    """A copy of that desk; an environment finds itself wherever it lies."""
    shutil.copytree(first_run[0].parent, tmp_path, symlinks=True, dirs_exist_ok=True)
    return tmp_path / "desk"


def _make_wheel(index: Path, name: str, version: str) -> str:
    """A wheel is a zip with a module and three lines about it; its lines in a lock."""
    import hashlib
    import zipfile

    index.mkdir(exist_ok=True)
    about = f"{name}-{version}.dist-info"
    path = index / f"{name}-{version}-py3-none-any.whl"
    with zipfile.ZipFile(path, "w") as wheel:
        wheel.writestr(f"{name}.py", f"VERSION = '{version}'\n")
        wheel.writestr(
            f"{about}/METADATA", f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}\n"
        )
        wheel.writestr(
            f"{about}/WHEEL",
            "Wheel-Version: 1.0\nGenerator: t\nRoot-Is-Purelib: true\nTag: py3-none-any\n",
        )
        wheel.writestr(f"{about}/RECORD", "")
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    return f"{name}=={version} \\\n    --hash=sha256:{digest}\n"


def _run(desk: Path, *words: str, **given: str) -> subprocess.CompletedProcess[str]:
    kept = {name: os.environ[name] for name in ("PATH", "HOME", "SYSTEMROOT") if name in os.environ}
    index = {
        "PIP_NO_INDEX": "1",
        "PIP_FIND_LINKS": str(desk.parent / "index"),
        "PIP_CONFIG_FILE": os.devnull,
    }
    return subprocess.run(
        [getattr(sys, "_base_executable", sys.executable), desk / "manage.py", *words],
        env=kept | index | given,
        capture_output=True,
        text=True,
        check=False,
        timeout=900,
    )


@pytest.mark.slow
def test_first_run_sets_up_and_the_second_goes_straight_on(first_run):
    desk, first = first_run
    assert first.returncode == 7, first.stderr
    assert first.stdout.strip() == f"ran ['demo', '--port', '9000'] 1.0 {desk / '.venv'}"
    assert "1 of 2" in first.stderr and "2 of 2" in first.stderr and "Ready." in first.stderr
    second = _run(desk, "demo")
    assert (second.returncode, second.stderr) == (7, "")
    assert second.stdout.startswith("ran ['demo']")


@pytest.mark.slow
def test_only_the_tests_need_the_test_tools(ready_desk):
    desk = ready_desk
    installed = (
        desk
        / ".venv"
        / ("Lib" if os.name == "nt" else f"lib/python3.{sys.version_info[1]}")
        / "site-packages"
    )
    assert not (installed / "testhing.py").exists()
    assert _run(desk, "test").returncode == 7
    assert (installed / "testhing.py").exists()
    # What a desk needs is compiled at once, for it may lie where it cannot write.
    compiled = {path.name.partition(".")[0] for path in installed.glob("__pycache__/*.pyc")}
    assert "smallthing" in compiled and "testhing" not in compiled
    assert _run(desk, "start").stderr == ""


@pytest.mark.night
def test_a_set_up_that_was_cut_short_is_mended(ready_desk):
    venv = ready_desk / ".venv"
    (venv / "locked-to-run.txt").unlink()
    for python in (venv / "bin").glob("python*"):
        python.unlink()
    again = _run(ready_desk, "demo")
    assert again.returncode == 7, again.stderr
    assert "Ready." in again.stderr


@pytest.mark.slow
def test_a_changed_lock_is_installed_and_no_file_of_another_hash(ready_desk):
    desk = ready_desk
    lines = _make_wheel(desk.parent / "index", "smallthing", "1.1")
    _lock(desk).write_text(lines)
    assert " 1.1 " in _run(desk, "demo").stdout
    # A file that is not the one of the lock is not installed.
    _make_wheel(desk.parent / "index", "smallthing", "1.2")
    _lock(desk).write_text(lines.replace("1.1", "1.2"))
    refused = _run(desk, "demo")
    assert refused.returncode == 1
    assert "not the one that Kitdesk was made with" in refused.stderr
    _lock(desk).unlink()
    assert "get Kitdesk again" in _run(desk, "demo").stderr


@pytest.mark.night
def test_two_first_runs_at_once_share_one_set_up(desk):
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    given = kept | {
        "PIP_NO_INDEX": "1",
        "PIP_FIND_LINKS": str(desk.parent / "index"),
        "PIP_CONFIG_FILE": os.devnull,
    }
    command = [getattr(sys, "_base_executable", sys.executable), str(desk / "manage.py"), "demo"]
    both = [
        subprocess.Popen(
            command, env=given, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        )
        for _ in "ab"
    ]
    words = [process.communicate(timeout=900) for process in both]
    assert [process.returncode for process in both] == [7, 7], words
    assert sum("Ready." in said for _, said in words) == 1


def test_a_foreign_environment_is_never_touched(desk):
    foreign = desk / ".venv"
    foreign.mkdir()
    (foreign / "mine.txt").write_text("keep")
    refused = _run(desk, "demo")
    assert refused.returncode == 1
    assert "was not made by Kitdesk" in refused.stderr and "Traceback" not in refused.stderr
    assert [path.name for path in foreign.iterdir()] == ["mine.txt"]


@pytest.mark.night
def test_an_index_that_cannot_be_reached_is_said_in_words(desk):
    refused = _run(
        desk, "demo", PIP_NO_INDEX="0", PIP_FIND_LINKS="", PIP_INDEX_URL="http://127.0.0.1:9/simple"
    )
    assert refused.returncode == 1
    assert (
        "the package index cannot be reached" in refused.stderr
        and "Traceback" not in refused.stderr
    )
    assert not (desk / ".venv" / "locked-to-run.txt").exists()
    assert _run(desk, "demo").returncode == 7


def test_an_old_python_is_told_what_is_needed(tmp_path):
    text = (ROOT / "manage.py").read_text()
    (tmp_path / "manage.py").write_text(
        text.replace("import sys\n", "import sys\nsys.version_info = (3, 9, 2)\n", 1)
    )
    told = subprocess.run(
        [sys.executable, tmp_path / "manage.py"], capture_output=True, text=True, check=False
    )
    assert told.returncode == 1
    assert told.stderr.strip() == "Kitdesk needs Python 3.11 or newer; this is Python 3.9."


@pytest.mark.parametrize("name", ["bootstrap.py", "quick_setup.py"])
def test_it_needs_only_the_standard_library(name):
    import ast

    tree = ast.parse((ROOT / "kitdesk" / name).read_text(encoding="utf-8"))
    names = {
        alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.Import)
        for alias in node.names
    }
    names |= {str(node.module) for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
    assert {name.partition(".")[0] for name in names} - {"kitdesk"} <= sys.stdlib_module_names


def test_a_python_without_venv_is_told_the_package_to_install(monkeypatch, tmp_path):
    monkeypatch.setattr(bootstrap, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(bootstrap.importlib.util, "find_spec", lambda name: None)
    with pytest.raises(bootstrap.SetupFailed, match=r"apt-get install python3\.\d+-venv"):
        bootstrap._set_up(tmp_path / "none", "run", "", inside=False)


def test_a_folder_that_cannot_be_written_is_said(monkeypatch, tmp_path):
    (tmp_path / "file").write_text("in the way")
    monkeypatch.setattr(bootstrap, "VENV", tmp_path / "file" / ".venv")
    with pytest.raises(bootstrap.SetupFailed, match="right to write there"):
        bootstrap._set_up(tmp_path / "none", "run", "", inside=False)


@pytest.mark.parametrize(
    ("output", "words"),
    [
        ("ERROR: [Errno 28] No space left on device", "the disk is full"),
        (
            (
                "NewConnectionError: Failed to establish a new connection: [Errno -3] Temporary"
                " failure in name resolution"
            ),
            "cannot be reached",
        ),
        ("ERROR: No matching distribution found for numpy==9", "not offered for this Python"),
        ("ERROR: something else", "pip did not succeed"),
    ],
)
def test_each_failure_of_pip_has_its_sentence(output, words, tmp_path):
    assert words in bootstrap._pip_words(output, tmp_path / "log")


def test_the_real_requirements_are_pinned_line_by_line():
    text = (ROOT / "requirements.txt").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    assert all(bootstrap.PIN.match(line) for line in lines)
    lock = bootstrap.LOCK.read_text(encoding="utf-8")
    run = bootstrap.pins(bootstrap.lines_for(lock, "run"))
    assert "django" in run and "pytest" not in run
    assert "pytest" in bootstrap.pins(bootstrap.lines_for(lock, "test"))
