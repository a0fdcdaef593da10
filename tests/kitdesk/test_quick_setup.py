"""The quick installer: of the lock, used where it may be, and done without where it fails."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from kitdesk import bootstrap, quick_setup
from kitdesk.quick_setup import install_quickly

LOCK = """one==1.0 \\
    --hash=sha256:aa
uv==0.1 \\
    --hash=sha256:bb \\
    --hash=sha256:cc
uvother==2.0 \\
    --hash=sha256:dd
"""
#: Stands for pip: it puts a program where it is told to, made of the file that lies beside it.
FETCH = """
import pathlib, shutil, sys
folder = pathlib.Path(sys.argv[sys.argv.index("--target") + 1])
(folder / "bin").mkdir()
program = folder / "bin" / "uv"
shutil.copy(pathlib.Path(__file__).with_name("program"), program)
program.chmod(0o755)
# The real one brings others of its kind.
(folder / "bin" / "uvx").touch(0o755)
told = pathlib.Path(__file__).with_name("fetched")
told.write_text((folder / "wanted.txt").read_text())
"""


@pytest.fixture
def pip(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> list[str | Path]:
    monkeypatch.setenv("PIP_CONFIG_FILE", "/dev/null")
    for name in ("PIP_INDEX_URL", "PIP_NO_INDEX"):
        monkeypatch.delenv(name, raising=False)
    (tmp_path / "fetch.py").write_text(FETCH)
    return [sys.executable, tmp_path / "fetch.py"]


def _installed(tmp_path: Path, pip: list[str | Path], script: str) -> str | None:
    (tmp_path / "program").write_text(f"#!/bin/sh\n{script}\n")
    wish = tmp_path / "environment" / "wanted.txt"
    wish.parent.mkdir(exist_ok=True)
    return install_quickly(Path(sys.executable), wish, LOCK, pip, compiled=True)


def test_it_is_fetched_by_its_hashes_asked_once_and_gone_afterwards(tmp_path, pip):
    said = _installed(tmp_path, pip, 'echo "$@"')
    assert said is not None and said.startswith(f"pip install --python {sys.executable} ")
    assert "--require-hashes --no-deps" in said and "--compile-bytecode" in said
    assert (tmp_path / "fetched").read_text().splitlines() == LOCK.splitlines()[2:5]
    assert not (tmp_path / "environment" / "installer").exists()


def test_where_it_fails_pip_is_to_do_it(tmp_path, pip):
    assert _installed(tmp_path, pip, "exit 3") is None
    assert not (tmp_path / "environment" / "installer").exists()
    assert _installed(tmp_path, [sys.executable, "-c", "raise SystemExit(1)"], "exit 0") is None


@pytest.mark.parametrize("name", ["PIP_INDEX_URL", "PIP_NO_INDEX"])
def test_an_index_of_ones_own_is_for_pip(tmp_path, pip, monkeypatch, name):
    monkeypatch.setenv(name, "1")
    assert _installed(tmp_path, pip, "exit 0") is None


@pytest.mark.parametrize(
    ("configured", "usual"),
    [
        ("[global]\nindex-url = https://index.example/simple\n", False),
        ("[install]\nno-index = true\n", False),
        ("[global]\nextra-index-url = https://index.example/simple\n", True),
    ],
)
def test_so_is_one_that_pip_is_set_to(tmp_path, pip, monkeypatch, configured, usual):
    (tmp_path / "pip.conf").write_text(configured)
    monkeypatch.setenv("PIP_CONFIG_FILE", str(tmp_path / "pip.conf"))
    assert (_installed(tmp_path, pip, "exit 0") is not None) == usual


def test_the_certificates_of_pip_hold_for_it(tmp_path, pip, monkeypatch):
    monkeypatch.setenv("PIP_CERT", "/certificates")
    monkeypatch.delenv("SSL_CERT_FILE", raising=False)
    assert _installed(tmp_path, pip, 'echo "$SSL_CERT_FILE"') == "/certificates\n"


def test_it_stands_in_the_real_lock():
    lines = quick_setup._lines_of("uv", bootstrap.LOCK.read_text(encoding="utf-8")).splitlines()
    assert lines[0].startswith("uv==") and len(lines) > 2
    assert all("--hash=sha256:" in line for line in lines[1:])
