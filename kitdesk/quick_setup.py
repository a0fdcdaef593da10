"""The libraries, by an installer that takes a fifth of pip's time. It is of the lock itself, comes
by pip, and goes when it is done.

Standard library only, for it runs before anything is installed. Whatever it fails at, pip does in
its own way: nothing is lost but the time.
"""

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

INSTALLER = "uv"
#: What tells pip where to look, and the installer would not hear of.
_PLACES = ("PIP_INDEX_URL", "PIP_NO_INDEX")
_CONFIGURED = re.compile(r"(^|\.)(index-url|no-index)=", re.MULTILINE)


def install_quickly(
    python: Path, wish: Path, lock: str, pip: Sequence[str | Path], *, compiled: bool
) -> str | None:
    """Install what ``wish`` names; what the installer said, or None where it is for pip to do.

    ``pip`` are the words with which files of the lock's hashes are installed. ``compiled`` has all
    of it compiled as well.
    """
    lines = _lines_of(INSTALLER, lock)
    if not lines or not _looks_at_the_usual_index(python):
        return None
    folder = wish.parent / "installer"
    try:
        folder.mkdir(exist_ok=True)
        own_wish = folder / "wanted.txt"
        own_wish.write_text(lines, encoding="utf-8")
        fetched = _ran([*pip, "--no-compile", "--target", folder, "-r", own_wish], None)
        program = folder / "bin" / (f"{INSTALLER}.exe" if os.name == "nt" else INSTALLER)
        if fetched is None or not program.exists():
            return None
        words: list[str | Path] = [
            "pip",
            "install",
            "--python",
            python,
            "--require-hashes",
            "--no-deps",
        ]
        words += ["--cache-dir", folder / "cache", *(["--compile-bytecode"] if compiled else [])]
        return _ran([program, *words, "-r", wish], _environment())
    except OSError:
        return None
    finally:
        shutil.rmtree(folder, ignore_errors=True)


def _lines_of(name: str, lock: str) -> str:
    """The lines of one library in a lock; empty where it is not there."""
    found = re.search(rf"^{name}==.*(?:(?<=\\)\n.*)*", lock, re.MULTILINE)
    return f"{found[0]}\n" if found else ""


def _looks_at_the_usual_index(python: Path) -> bool:
    if any(os.environ.get(name) for name in _PLACES):
        return False
    configured = _ran([python, "-m", "pip", "config", "list"], None)
    return configured is not None and not _CONFIGURED.search(configured)


def _environment() -> dict[str, str]:
    """The certificates that pip was told of hold for the installer too."""
    kept = {name: word for name, word in os.environ.items() if name != "VIRTUAL_ENV"}
    if certificates := kept.get("PIP_CERT"):
        kept.setdefault("SSL_CERT_FILE", certificates)
    return kept


def _ran(command: Sequence[str | Path], environment: dict[str, str] | None) -> str | None:
    """What a program said where it succeeded. On a screen its progress shows as it draws it."""
    on_screen = environment is not None and sys.stderr.isatty()
    done = subprocess.run(
        command,
        stdout=subprocess.PIPE,
        stderr=None if on_screen else subprocess.STDOUT,
        text=True,
        encoding="utf-8",
        errors="replace",
        env=environment,
        check=False,
    )
    return done.stdout if done.returncode == 0 else None
