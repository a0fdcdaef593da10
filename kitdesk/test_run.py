"""``manage.py test``: the whole suite on SQLite, then all that touches the database once more on
PostgreSQL.

Words after ``test`` go to pytest as they are; with any that name a test, or with ``-m`` or ``-k``,
only SQLite is used, unless DATABASE_URL says otherwise. KITDESK_COVERAGE=1 measures the first run
and runs those marked ``night`` as well. Tests marked ``engines`` run only when named:
``manage.py test tests/engines``.
"""

import contextlib
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from kitdesk import coverage_gate, database_template, throwaway_postgres

BASE_DIR = Path(__file__).resolve().parent.parent
NOTHING_SELECTED = 5
LONG = "browser or slow or night"
BY_NIGHT = "not engines"
BY_DAY = f"{BY_NIGHT} and not night"


def main(arguments: list[str]) -> int:
    """Run the tests; returns pytest's exit code, of the first run that failed if there are two."""
    if "DATABASE_URL" in os.environ or _chosen(arguments):
        return _pytest(arguments, {})
    print("Kitdesk's tests on SQLite:", flush=True)
    with database_template.migrated_file() as template:
        outcome = _on_sqlite(arguments, template)
    try:
        with _postgres() as address:
            if address is None:
                return outcome or _without_postgres()
            print("\nKitdesk's tests on PostgreSQL:", flush=True)
            second = _on_postgres(address, arguments)
    except RuntimeError as problem:
        print(f"\nPostgreSQL did not start: {problem}", file=sys.stderr)
        return outcome or 1
    return outcome or (0 if second == NOTHING_SELECTED else second)


def _on_sqlite(arguments: list[str], template: dict[str, str]) -> int:
    """The first run; with KITDESK_COVERAGE=1 it also measures what the tests reach, and fails when
    that is too little.

    Measuring nearly doubles the time of a test, so those that are long and judge the whole, not
    single lines, run unmeasured.
    """
    here = f"not postgres and {_hour()}"
    if not _is_night():
        return _pytest([*_spread(), "-m", here, *arguments], template)
    outcome = _measured([*_spread(), "-m", f"{here} and not ({LONG})", *arguments], template)
    print("\nThe long ones on SQLite, not measured:", flush=True)
    return _pytest([*_spread(), "-m", f"{here} and ({LONG})", *arguments], template) or outcome


def _measured(words: list[str], template: dict[str, str]) -> int:
    with tempfile.TemporaryDirectory(prefix="kitdesk-coverage-") as folder:
        data_file = Path(folder, "coverage")
        settings = template | {"COVERAGE_FILE": str(data_file)}
        outcome = _pytest(["--cov", "--cov-report=", *words], settings)
        return int(not coverage_gate.check_coverage(data_file)) or outcome


def _on_postgres(address: str, arguments: list[str]) -> int:
    how_much = "all" if _is_night() else "1"
    here = {"DATABASE_URL": address, "KITDESK_DATABASE_ONLY": how_much}
    with database_template.migrated_on_server(address) as template:
        words = [*_spread(), "-m", f"not browser and {_hour()}", *arguments]
        return _pytest(words, here | template)


def _is_night() -> bool:
    return os.environ.get("KITDESK_COVERAGE") == "1"


def _hour() -> str:
    """Which tests the hour allows; those marked ``night`` take minutes."""
    return BY_NIGHT if _is_night() else BY_DAY


def _chosen(arguments: list[str]) -> bool:
    """True when the words pick single tests, so that the caller wants one quick run and not all of
    it.
    """
    picks = (
        "-k",
        "-m",
        "--lf",
        "--last-failed",
        "--ff",
        "--collect-only",
        "--co",
        "--help",
        "--version",
    )
    return any(
        word.startswith(picks) or (BASE_DIR / word.partition("::")[0]).exists()
        for word in arguments
        if word.strip()
    )


def _spread() -> list[str]:
    """Three to five processes, one more than there are cores: it fills the waits for browser, disk
    and database server.
    """
    processes = min((os.cpu_count() or 2) + 1, 5)
    return ["-n", str(max(3, processes)), "--dist", "worksteal"]


def _pytest(words: list[str], settings: dict[str, str]) -> int:
    command = [sys.executable, "-m", "pytest", "-rsfE", *words]
    environment = os.environ | settings
    # Compiling every test anew in every process, and every module in each desk that a test starts,
    # takes minutes.
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    try:
        return subprocess.run(command, cwd=BASE_DIR, env=environment, check=False).returncode
    except KeyboardInterrupt:
        return 130


@contextlib.contextmanager
def _postgres() -> Iterator[str | None]:
    """The address of a server for this run: a given one, or one of our own if the programs are
    here.
    """
    address_set = os.environ.get("KITDESK_TEST_POSTGRES")
    folder = throwaway_postgres.programs()
    if address_set:
        yield address_set
    elif folder is None:
        yield None
    else:
        with throwaway_postgres.running(folder) as address:
            yield address


def _without_postgres() -> int:
    required = "postgres" in os.environ.get("KITDESK_REQUIRE", "").split(",")
    print(
        "\nThe PostgreSQL tests were"
        f" {'asked for, but ' if required else 'skipped: '}{throwaway_postgres.HOW_TO_GET}"
    )
    return 1 if required else 0
