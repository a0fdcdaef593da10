"""``manage.py watch FOLDER --to ADDRESS``: captures of this machine to a desk elsewhere. No Django,
no database.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from .desk_line import DeskLine, LineTrouble
from .folder import LOOKS, WatchedFolder
from .remote_folder import RemoteFolder

#: Looks after which `--once` ends though a verdict is not there yet.
MOST_LOOKS = 120


def add_remote_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command that name a desk elsewhere."""
    parser.add_argument("--to", metavar="ADDRESS", help="send to a desk elsewhere: https://...")
    parser.add_argument(
        "--token-file", metavar="FILE", help="with --to: the file that holds the access token"
    )
    parser.add_argument(
        "--ca", metavar="FILE", help="with --to: certificates to trust, for a desk with its own"
    )


def main(argv: Sequence[str]) -> int:
    """Run the command without Django; the exit status."""
    parser = argparse.ArgumentParser(prog="manage.py watch")
    parser.add_argument("folder", help="where the recording program saves")
    parser.add_argument("--once", action="store_true", help="send what is there now, then end")
    parser.add_argument("--every", type=float, default=1.0, metavar="SECONDS")
    add_remote_arguments(parser)
    options = parser.parse_args(argv)
    try:
        watch_for(
            Path(options.folder),
            DeskLine(
                options.to or "",
                Path(options.token_file or ""),
                Path(options.ca) if options.ca else None,
            ),
            once=options.once,
            every=options.every,
            say=_say,
        )
    except LineTrouble as trouble:
        print(trouble.sentence, file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        _say("Ended. What was not sent is sent the next time.")
    return 0


def watch_for(
    folder: Path, line: DeskLine, *, once: bool, every: float, say: Callable[[str], None]
) -> None:
    """Watch a folder for a desk elsewhere, for ever or once.

    Raises
    ------
    LineTrouble
        If folder, address, token or certificates cannot be used, or with `once` if not all was
        sent.
    """
    if not folder.is_dir():
        raise LineTrouble(f"There is no folder {folder}. Name the one your recordings are in.")
    if not 0 <= every <= 3600:
        raise LineTrouble("--every takes seconds from 0 to 3600.")
    line.check()
    remote = RemoteFolder(WatchedFolder(folder), line, say, time.monotonic)
    if not once:
        say(f"Watching {folder} for {line.address}. Ctrl+C ends it.")
    looks, unreadable = 0, ""
    while not once or looks < MOST_LOOKS:
        if looks:
            time.sleep(every)
        looks += 1
        try:
            remote.look()
            unreadable = ""
        except OSError as problem:
            sentence = f"The folder {folder} cannot be read: {problem.strerror or problem}."
            if once:
                raise LineTrouble(sentence) from problem
            if sentence != unreadable:
                say(sentence)
            unreadable = sentence
        if once and looks >= LOOKS and _is_done(remote, say):
            return


def _is_done(remote: RemoteFolder, say: Callable[[str], None]) -> bool:
    """Whether nothing is left to send or to hear; what is still being written is named."""
    if remote.trouble:
        raise LineTrouble("Not all was sent; run it again.")
    if remote.to_send or remote.to_hear:
        return False
    for name in remote.watched.growing:
        say(f"{name}: left, it is empty or still being written.")
    return True


def _say(line: str) -> None:
    print("".join(c if c.isprintable() else "?" for c in line), flush=True)
