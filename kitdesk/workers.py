"""Background workers as child processes that never outlive their parent."""

import os
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from pathlib import Path
from types import TracebackType

MANAGE = Path(__file__).resolve().parent.parent / "manage.py"
PATIENCE_S = 30.0
RESTART_AFTER_S = 3.0
NEW_GROUP_ON_WINDOWS = 0x200  # CREATE_NEW_PROCESS_GROUP, which other systems do not name


def usual_number() -> int:
    """One worker per core, four at most: scoring keeps a core busy, and SQLite has one writer
    anyway.
    """
    return min(os.cpu_count() or 1, 4)


class Workers:
    """Starts ``number`` workers, replaces one that dies, and stops all at the end.

    Each child holds the reading end of a pipe whose writing end only this process has. When this
    process goes, however it goes, the pipe closes and the child ends after the job at hand: no
    orphans, not even after ``kill -9``.
    """

    def __init__(self, number: int, say: Callable[[str], None]) -> None:
        self._say = say
        self._children: list[subprocess.Popen[bytes] | None] = [None] * number
        self._stopping = threading.Event()
        self._watch = threading.Thread(target=self._keep_alive, name="workers", daemon=True)

    def __enter__(self) -> "Workers":
        for place in range(len(self._children)):
            self._children[place] = self._start(place)
        self._watch.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        problem: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._stopping.set()
        self._watch.join()
        children = [child for child in self._children if child is not None]
        for child in children:
            if child.stdin is not None:
                child.stdin.close()
        ends = time.monotonic() + PATIENCE_S
        for child in children:
            try:
                child.wait(max(0.1, ends - time.monotonic()))
            except subprocess.TimeoutExpired:
                self._say("A worker did not finish its job in time and is stopped.")
                child.kill()
                child.wait()

    def _start(self, place: int) -> subprocess.Popen[bytes]:
        """A child of its own process group, so that Ctrl+C in the terminal reaches it only through
        the pipe.
        """
        command = [sys.executable, str(MANAGE), "worker", "--stop-with-parent"]
        if place == 0:
            command.append("--clock")
        on_windows = os.name == "nt"
        return subprocess.Popen(
            command,
            stdin=subprocess.PIPE,
            creationflags=NEW_GROUP_ON_WINDOWS if on_windows else 0,
            start_new_session=not on_windows,
        )

    def _keep_alive(self) -> None:
        while not self._stopping.wait(RESTART_AFTER_S):
            for place, child in enumerate(self._children):
                if child is not None and child.poll() is not None:
                    self._say(
                        f"Worker {place + 1} ended with code {child.returncode}; starting it again."
                    )
                    self._children[place] = self._start(place)
