"""The lock: every library that is installed, those of the libraries too, with its version and the
hashes of all its files. Made from requirements.txt by ``manage.py lock``.

One lock serves each Python and system that Kitdesk runs on; what only some of them need carries its
condition. The libraries of the tests follow those of the run, as in requirements.txt.
"""

from __future__ import annotations

import hashlib
import re
import subprocess
import tempfile
from dataclasses import dataclass
from pathlib import Path

from kitdesk.bootstrap import LOCK, TEST_PART, lines_for

REQUIREMENTS = LOCK.parent.parent / "requirements.txt"
OLDEST_PYTHON = "3.11"
_HEAD = "# Made by `manage.py lock` of the requirements with SHA-256 {digest}.\n"
_ENTRY = re.compile(
    r"^([a-z0-9][a-z0-9._-]*)==([^\s;]+)([^\n]*\n(?: +--hash=[^\n]*\n)+)", re.MULTILINE
)
_HASH = re.compile(r"--hash=sha256:([0-9a-f]{64})")


class LockFailed(Exception):
    """The lock could not be made; the message says why."""


@dataclass(frozen=True)
class LockedLibrary:
    """A library of the lock, and the SHA-256 of each of its files."""

    name: str
    version: str
    hashes: tuple[str, ...]


def locked_libraries(lock: str) -> list[LockedLibrary]:
    """The libraries that a lock names."""
    return [
        LockedLibrary(entry[1], entry[2], tuple(_HASH.findall(entry[3])))
        for entry in _ENTRY.finditer(lock)
    ]


def fits(lock: str, requirements: str) -> bool:
    """Whether a lock was made of these requirements."""
    return lock.startswith(_head_of(requirements))


def make_lock(lock: str, requirements: str) -> str:
    """The lock of the requirements; what an earlier lock says of libraries that nobody names stays
    where it can.

    Raises
    ------
    LockFailed
        If no versions fit together, or the package index cannot be reached.
    """
    everything = _resolved(requirements, lock)
    run = _resolved(lines_for(requirements, "run"), everything)
    in_run = {library.name for library in locked_libraries(run)}
    of_tests = [entry[0] for entry in _ENTRY.finditer(everything) if entry[1] not in in_run]
    return f"{_head_of(requirements)}{run}{TEST_PART}\n{''.join(of_tests)}"


def _head_of(requirements: str) -> str:
    return _HEAD.format(digest=hashlib.sha256(requirements.encode()).hexdigest())


def _resolved(requirements: str, known: str) -> str:
    """All libraries of the requirements with their hashes, preferring the versions in `known`."""
    # Only developers have it.
    from uv import find_uv_bin

    with tempfile.TemporaryDirectory() as folder:
        wanted, answer = Path(folder, "requirements.in"), Path(folder, "requirements.lock")
        wanted.write_text(requirements, encoding="utf-8")
        answer.write_text(known, encoding="utf-8")
        how = ["--universal", "--generate-hashes", "--python-version", OLDEST_PYTHON]
        plain = ["--no-header", "--no-annotate", "--quiet", "--no-config"]
        done = subprocess.run(
            [find_uv_bin(), "pip", "compile", *how, *plain, wanted, "-o", answer],
            capture_output=True,
            text=True,
            check=False,
        )
        if done.returncode:
            raise LockFailed(done.stderr.strip())
        return answer.read_text(encoding="utf-8")
