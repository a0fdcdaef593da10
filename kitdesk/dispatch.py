"""Which program a command line belongs to, once every library is at hand."""

import argparse
import os
import sys
from pathlib import Path

from kitdesk.file_place import place_problem
from kitdesk.private_files import write_for_oneself_only

BASE_DIR = Path(__file__).resolve().parent.parent
# A demo is nobody's real desk: it never opens the real database and never mails anybody.
NOT_FOR_THE_DEMO = (
    "DATABASE_URL",
    "EMAIL_URL",
    "KITDESK_FILES",
    "KITDESK_BACKUPS_S3",
    "SITE_URL",
    "ALLOWED_HOSTS",
    "CSRF_TRUSTED_ORIGINS",
    "TRUSTED_PROXY",
)


def run(argv: list[str]) -> int:
    """Run ``argv``; returns the exit code. Tests, scoring of files and watching a folder for a
    desk elsewhere go without Django's start-up.
    """
    command = argv[1] if len(argv) > 1 else "help"
    if command == "test":
        from kitdesk.test_run import main

        return main(argv[2:])
    if command == "score":
        from readiness.signal.command import main as score

        return score(argv[2:])
    if command == "watch" and any(word.partition("=")[0] == "--to" for word in argv):
        from readiness.intake.remote_watch import main as watch_for_another_desk

        return watch_for_another_desk(argv[2:])
    if command in ("demo", "pictures"):
        use_demo_data()
    if command == "practice":
        use_practice_data(argv)
    if (problem := data_folder_problem() or place_problem()) is not None:
        print(problem, file=sys.stderr)
        return 1
    write_for_oneself_only()
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kitdesk.settings")
    return _through_django(argv, command)


def _through_django(argv: list[str], command: str) -> int:
    """Run a command of Django's; what a broken database does to it is said in a sentence."""
    from django.core import management

    from kitdesk import database_problems

    sentence = database_problems.settings_problem() or database_problems.file_problem(command)
    if sentence is None:
        try:
            management.execute_from_command_line(argv)
        except Exception as problem:
            sentence = database_problems.sentence_of(problem)
            if sentence is None:
                raise
    if sentence is None:
        return 0
    print(sentence, file=sys.stderr)
    return 1


def use_demo_data() -> None:
    """Point the settings at ``var/demo`` and away from everything real."""
    for name in NOT_FOR_THE_DEMO:
        os.environ.pop(name, None)
    os.environ["KITDESK_VAR"] = str(BASE_DIR / "var" / "demo")


def use_practice_data(argv: list[str]) -> None:
    """Point the settings at the folder of ``--into``, or away from the real desk where nothing else
    is said.
    """
    parser = argparse.ArgumentParser(add_help=False)
    parser.add_argument("--into")
    into = parser.parse_known_args(argv[2:])[0].into
    if into:
        os.environ.pop("DATABASE_URL", None)
        os.environ["KITDESK_VAR"] = str(Path(into).absolute())
    elif not (os.environ.get("KITDESK_VAR") or os.environ.get("DATABASE_URL")):
        os.environ["KITDESK_VAR"] = str(BASE_DIR / "var" / "practice")


def data_folder_problem() -> str | None:
    """None when the data folder is there and can be written to, else the sentence that says what to
    do.
    """
    folder = Path(os.environ.get("KITDESK_VAR") or BASE_DIR / "var" / "desk").absolute()
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        writable = os.access(folder, os.W_OK)
    except OSError as problem:
        return (
            f"Kitdesk cannot make its data folder {folder}: {problem.strerror}. Set KITDESK_VAR to"
            " another folder."
        )
    if writable:
        return None
    return (
        f"Kitdesk may not write to its data folder {folder}. Give this account the right, or set"
        " KITDESK_VAR."
    )
