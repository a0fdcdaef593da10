"""The lock of what is installed: it fits the requirements, and covers what they need."""

from __future__ import annotations

import re
from importlib.metadata import requires, version

import pytest
from django.core.management import CommandError, call_command
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from packaging.version import Version

from kitdesk import library_lock
from kitdesk.bootstrap import LOCK, lines_for, pins
from kitdesk.library_lock import REQUIREMENTS, LockFailed, fits, locked_libraries, make_lock

pytestmark = pytest.mark.any_database
TEXT = LOCK.read_text(encoding="utf-8")
WANTED = REQUIREMENTS.read_text(encoding="utf-8")


@pytest.mark.parametrize("part", ["run", "test"])
def test_the_lock_names_all_that_is_asked_for_and_what_that_needs(part: str) -> None:
    lock = lines_for(TEXT, part)
    locked = {library.name: library for library in locked_libraries(lock)}
    assert len(locked) == len(re.findall("^[a-z]", lock, re.MULTILINE))
    assert all(library.hashes for library in locked.values())
    for name, pin in pins(lines_for(WANTED, part)).items():
        assert locked[canonicalize_name(name)].version == pin
    for name in pins(lock):
        assert Version(version(name)) == Version(locked[name].version)
        needed = [Requirement(line) for line in requires(name) or ()]
        for need in needed:
            if not need.marker or need.marker.evaluate({"extra": ""}):
                assert need.specifier.contains(locked[canonicalize_name(need.name)].version)


def test_a_lock_of_other_requirements_is_noticed(monkeypatch, tmp_path, capsys) -> None:
    assert fits(TEXT, WANTED)
    call_command("lock", check=True)
    assert "libraries locked" in capsys.readouterr().out
    other = tmp_path / "requirements.txt"
    other.write_text(WANTED + "more==1.0\n")
    monkeypatch.setattr("kitdesk.management.commands.lock.REQUIREMENTS", other)
    with pytest.raises(CommandError, match="manage.py lock"):
        call_command("lock", check=True)


def test_a_lock_that_cannot_be_made_says_why(monkeypatch) -> None:
    monkeypatch.setenv("UV_OFFLINE", "1")
    with pytest.raises(LockFailed, match="no-such-library"):
        make_lock("", "no-such-library-of-ours==1.0\n")


def test_the_libraries_of_the_tests_stand_behind_those_of_the_run(monkeypatch) -> None:
    def resolved(requirements: str, _known: str) -> str:
        names = re.findall("^([a-z]+)==", requirements, re.MULTILINE)
        return "".join(f"{name}==1.0 \\\n    --hash=sha256:{'a' * 64}\n" for name in names)

    monkeypatch.setattr(library_lock, "_resolved", resolved)
    wanted = f"zed==1.0\n{library_lock.TEST_PART} ---\nay==1.0\n"
    lock = make_lock("", wanted)
    assert fits(lock, wanted)
    assert [library.name for library in locked_libraries(lock)] == ["zed", "ay"]
    assert list(pins(lines_for(lock, "run"))) == ["zed"]
