"""From a bare Python 3.11 to a running command: makes ``.venv``, installs the libraries, then hands
over.

Standard library only, because it runs before anything is installed. Everything it says goes to
standard error, so that ``manage.py score --json`` stays clean. What is set up once is not looked at
again: a stamp with the hash of the lock, written last, tells a finished environment from a half
made one. The lock names every library with its version and the hashes of its files, and pip takes
no other file.
"""

import contextlib
import hashlib
import importlib.util
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

from kitdesk.quick_setup import install_quickly

BASE_DIR = Path(__file__).resolve().parent.parent
VENV = BASE_DIR / ".venv"
LOCK = BASE_DIR / ".ci" / "requirements.lock"
TEST_PART = "# Tests and checks"
NEED_TEST_LIBRARIES = ("test", "mutate", "pictures", "lock")
MADE_HERE = "made-by-kitdesk.txt"
PIN = re.compile(r"^([A-Za-z0-9][A-Za-z0-9._-]*)(?:\[[^\]]*\])?==([^\s;]+)\s*(;[^\\]*)?\\?$")
NO_NETWORK = re.compile(
    r"name resolution|Name or service not known|getaddrinfo failed|nodename nor"
    r" servname|NewConnectionError"
    r"|Network is unreachable|ConnectTimeout|Connection refused|No route to host|ProxyError|Read"
    r" timed out",
    re.IGNORECASE,
)


class SetupFailed(Exception):
    """The environment could not be made; the message says why and how to mend it."""


def main(argv: list[str]) -> int:
    """Run the command line ``argv`` with every library at hand; returns the exit code."""
    command = argv[1] if len(argv) > 1 else "help"
    part = "test" if command in NEED_TEST_LIBRARIES else "run"
    try:
        python = _python_with(part)
    except SetupFailed as problem:
        print(f"\nKitdesk could not be set up: {problem}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("\nStopped. The next start goes on from here.", file=sys.stderr)
        return 130
    if python is not None:
        return _hand_over(python, argv)
    from kitdesk.dispatch import run

    return run(argv)


def lines_for(text: str, part: str) -> str:
    """The lines of the lock that ``part`` needs: "run" stops at the tests, "test" takes all."""
    return text if part == "test" else text.partition(TEST_PART)[0]


def pins(text: str) -> dict[str, str]:
    """Exact versions by name, for lines without a condition."""
    matches = (PIN.match(line.strip()) for line in text.splitlines())
    return {match[1]: match[2] for match in matches if match and not match[3]}


def _python_with(part: str) -> Path | None:
    """None when this very interpreter has all that ``part`` needs, else the one that has, made if
    need be.
    """
    try:
        text = lines_for(LOCK.read_text(encoding="utf-8"), part)
    except OSError as problem:
        raise SetupFailed(
            f"{LOCK} cannot be read ({problem.strerror}). It names what is installed, so get"
            " Kitdesk again, all of it."
        ) from problem
    inside = Path(sys.prefix).resolve() == VENV.resolve()
    if inside and _is_ready(part, text):
        return None
    if not inside and not _is_ready(part, text) and _has_all(text):
        return None
    python = VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    if not (_is_ready(part, text) and python.exists()):
        _set_up(python, part, text, inside)
    return None if inside else python


def _has_all(text: str) -> bool:
    """True when this interpreter has every library in exactly the version that is asked for."""
    from importlib.metadata import PackageNotFoundError, version

    try:
        return all(version(name) == pin for name, pin in pins(text).items())
    except PackageNotFoundError:
        return False


# Making the environment --------------------------------------------------
def _stamp(part: str) -> Path:
    return VENV / f"locked-to-{part}.txt"


def _is_ready(part: str, text: str) -> bool:
    try:
        return _stamp(part).read_text(encoding="ascii") == _digest(text)
    except (OSError, ValueError):
        return False


def _write_stamp(part: str, text: str) -> None:
    _stamp(part).write_text(_digest(text), encoding="ascii")


def _digest(text: str) -> str:
    return hashlib.sha256("\n".join(text.split()).encode()).hexdigest()


def _set_up(python: Path, part: str, text: str, inside: bool) -> None:
    """Make or mend ``.venv`` and install into it. Raises SetupFailed."""
    if VENV.exists() and not (VENV / MADE_HERE).exists():
        raise SetupFailed(
            f"the folder {VENV} was not made by Kitdesk, so it is left alone.\nEither install into"
            " it yourself (activate it, then `pip install -r .ci/requirements.lock`) and start"
            " again\nfrom there, or rename it and start again: Kitdesk then makes its own."
        )
    try:
        VENV.mkdir(exist_ok=True)
        (VENV / MADE_HERE).write_text(
            "Made by manage.py; it may be deleted at any time.\n", encoding="ascii"
        )
        with _alone():
            if _is_ready(part, text) and python.exists():
                return
            if not inside and not _works(python):
                _make(python)
            _install(python, part, text)
            if part == "test":
                _write_stamp("run", lines_for(text, "run"))
            _write_stamp(part, text)
    except OSError as problem:
        raise SetupFailed(_disk_words(problem)) from problem


@contextlib.contextmanager
def _alone() -> Iterator[None]:
    """Two commands started together: the second waits until the first has set up."""
    with (VENV / "setup.lock").open("a+b") as file:
        if sys.platform == "win32":
            import msvcrt

            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_LOCK, 1)
        else:
            import fcntl

            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                _say("Another Kitdesk command is setting up; waiting for it.")
                fcntl.flock(file, fcntl.LOCK_EX)
        yield


def _works(python: Path) -> bool:
    if not python.exists():
        return False
    probe = subprocess.run([python, "-c", "import pip"], capture_output=True, check=False)
    return probe.returncode == 0


def _make(python: Path) -> None:
    _say(f"Setting up Kitdesk in {BASE_DIR} (only the first time).")
    _say("  1 of 2  Making a Python environment in .venv ...")
    if importlib.util.find_spec("venv") is None or importlib.util.find_spec("ensurepip") is None:
        raise SetupFailed(_no_venv_words())
    for entry in VENV.iterdir():
        # The mark stays to the last: a stop half way must not turn this folder into one that nobody
        # owns up to.
        if entry.name not in (MADE_HERE, "setup.lock"):
            shutil.rmtree(entry) if entry.is_dir() and not entry.is_symlink() else entry.unlink()
    done = subprocess.run(
        [sys.executable, "-m", "venv", VENV], capture_output=True, text=True, check=False
    )
    if done.returncode or not python.exists():
        words = done.stdout + done.stderr
        if "ensurepip" in words:
            raise SetupFailed(_no_venv_words())
        raise SetupFailed(f"Python could not make a virtual environment.\n{words.strip()[-800:]}")


def _install(python: Path, part: str, text: str) -> None:
    """Install the pinned lines of ``text``, files of the hashes there only, with progress. Raises
    SetupFailed with the cause in plain words.
    """
    number = len(pins(text))
    _say(f"  2 of 2  Installing {number} libraries from the package index (half a minute) ...")
    wish = VENV / f"wanted-to-{part}.txt"
    wish.write_text(text, encoding="utf-8")
    log = VENV / "setup.log"
    command: list[str | Path] = [
        python,
        "-m",
        "pip",
        "install",
        "--require-hashes",
        # The lock is whole; what libraries ask of each other would only lead pip to files without
        # a hash.
        "--no-deps",
        "--disable-pip-version-check",
        "--no-input",
        "--progress-bar",
        "off",
        "--retries",
        "2",
        "--timeout",
        "20",
    ]
    # Compiling all that the test tools bring takes half a minute; what is used of it is compiled
    # when it is first used. A desk may run where it cannot write, so its own is compiled here.
    compiled = part != "test"
    lock = LOCK.read_text(encoding="utf-8")
    said = install_quickly(python, wish, lock, command, compiled=compiled)
    if said is not None:
        log.write_text(said, encoding="utf-8")
        _say("  Ready.")
        return
    if not compiled:
        command.append("--no-compile")
    lines: list[str] = []
    with subprocess.Popen(
        [*command, "-r", wish],
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        encoding="utf-8",
        errors="replace",
        cwd=BASE_DIR,
    ) as pip:
        for line in pip.stdout or ():
            lines.append(line)
            _show_progress(line, number)
    log.write_text("".join(lines), encoding="utf-8")
    _end_progress()
    if pip.returncode:
        raise SetupFailed(_pip_words("".join(lines), log))
    _say("  Ready.")


_installing: set[str] = set()


def _show_progress(line: str, number: int) -> None:
    """One short line that counts the libraries asked for; on a screen it overwrites itself."""
    if line.startswith("Collecting ") and "(from -r" in line:
        name = re.split(r"[=<>!~\[; ]", line.removeprefix("Collecting "))[0]
        _installing.add(name)
        words = f"          {len(_installing)} of {number}  {name}"
    elif line.startswith("Installing collected packages"):
        words = "          unpacking"
    else:
        return
    if sys.stderr.isatty():
        print(f"\r{words:<60}", end="", file=sys.stderr, flush=True)
    elif len(_installing) % 10 == 0 or "unpacking" in words:
        print(words, file=sys.stderr, flush=True)


def _end_progress() -> None:
    if sys.stderr.isatty():
        print(file=sys.stderr)


# Words for what can go wrong ---------------------------------------------
def _no_venv_words() -> str:
    return (
        "this Python lacks the parts that make virtual environments (venv, ensurepip).\nOn Debian"
        " or Ubuntu: sudo apt-get install"
        f" python{sys.version_info[0]}.{sys.version_info[1]}-venv\nElsewhere: install Python 3.11"
        " or newer from python.org, then start again."
    )


def _pip_words(output: str, log: Path) -> str:
    tail = "".join(output.splitlines(keepends=True)[-4:]).strip()
    if "No space left" in output:
        return (
            f"the disk is full; about 400 MB are needed in {BASE_DIR} (1 GB with the test tools)."
        )
    if NO_NETWORK.search(output):
        return (
            "the package index cannot be reached. Kitdesk needs the network this once.\n"
            "Connect, or set PIP_INDEX_URL or HTTPS_PROXY as your network asks, and start again.\n"
            f"What pip said last: {tail}\nAll of it: {log}"
        )
    if "DO NOT MATCH THE HASHES" in output:
        return (
            "a file of the package index is not the one that Kitdesk was made with, so nothing was"
            " installed.\nTry again later; if it stays, or PIP_INDEX_URL names an index of your"
            f" own, ask whoever runs it. What pip said: {log}"
        )
    if "No matching distribution" in output:
        return (
            f"a library is not offered for this Python ({sys.version.split()[0]} on"
            f" {sys.platform}).\nPython 3.11, 3.12 or 3.13 is the safe choice. What pip said last:"
            f" {tail}\nAll of it: {log}"
        )
    return f"pip did not succeed. What it said last: {tail}\nAll of it: {log}"


def _disk_words(problem: OSError) -> str:
    where = problem.filename or VENV
    return (
        f"{where}: {problem.strerror}. Give this account the right to write there, or free some"
        " space."
    )


def _say(words: str) -> None:
    print(words, file=sys.stderr, flush=True)


# Handing over ------------------------------------------------------------
def _hand_over(python: Path, argv: list[str]) -> int:
    """Run the same command with ``python``. On POSIX this process becomes it, so that a stop signal
    reaches it.
    """
    command = [str(python), str(BASE_DIR / "manage.py"), *argv[1:]]
    sys.stdout.flush()
    sys.stderr.flush()
    if os.name != "nt":
        os.execv(command[0], command)
    child = subprocess.Popen(command)
    while True:
        try:
            return child.wait()
        except KeyboardInterrupt:
            continue  # The child has had the same key press and ends in its own way.
