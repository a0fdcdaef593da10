"""Background workers and further servers as child processes that never outlive their parent."""

import contextlib
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
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


@dataclass(frozen=True)
class Child:
    """What one child process does: its name in sentences, a command of manage.py with its words,
    and the files it is handed, by number.
    """

    name: str
    words: tuple[str, ...]
    files: tuple[int, ...] = ()


def worker_children(number: int) -> list[Child]:
    """So many workers; the first one also does what is due by the clock."""
    return [
        Child(f"Worker {place + 1}", ("worker", *(("--clock",) if place == 0 else ())))
        for place in range(number)
    ]


class Children:
    """Starts every child, replaces one that dies, and stops all at the end.

    Each child holds the reading end of a pipe whose writing end only this process has. When this
    process goes, however it goes, the pipe closes and the child ends after the job at hand: no
    orphans, not even after ``kill -9``.
    """

    def __init__(self, children: Sequence[Child], say: Callable[[str], None]) -> None:
        self._say = say
        self._children = children
        self._running: list[subprocess.Popen[bytes]] = []
        self._stopping = threading.Event()
        self._watch = threading.Thread(target=self._keep_alive, name="children", daemon=True)

    def __enter__(self) -> "Children":
        self._running = [_start(child) for child in self._children]
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
        for process in self._running:
            if process.stdin is not None:
                process.stdin.close()
        ends = time.monotonic() + PATIENCE_S
        for child, process in zip(self._children, self._running, strict=True):
            try:
                process.wait(max(0.1, ends - time.monotonic()))
            except subprocess.TimeoutExpired:
                self._say(f"{child.name} did not finish its job in time and is stopped.")
                process.kill()
                process.wait()

    def _keep_alive(self) -> None:
        while not self._stopping.wait(RESTART_AFTER_S):
            for place, child in enumerate(self._children):
                process = self._running[place]
                if process.poll() is not None:
                    self._say(
                        f"{child.name} ended with code {process.returncode}; starting it again."
                    )
                    self._running[place] = _start(child)


def _start(child: Child) -> subprocess.Popen[bytes]:
    """A child of its own process group, so that Ctrl+C in the terminal reaches it only through
    the pipe.
    """
    command = [sys.executable, str(MANAGE), *child.words, "--stop-with-parent"]
    on_windows = os.name == "nt"
    return subprocess.Popen(
        command,
        stdin=subprocess.PIPE,
        creationflags=NEW_GROUP_ON_WINDOWS if on_windows else 0,
        start_new_session=not on_windows,
        pass_fds=child.files,
    )


def stop_with_parent() -> None:
    """For a child: ask itself for a stop once the parent is gone, after the job at hand."""
    threading.Thread(target=_stop_when_input_closes, name="parent", daemon=True).start()


def _stop_when_input_closes() -> None:
    """The parent holds the other end of standard input."""
    # Not through sys.stdin: a thread that waits inside it holds its lock, for which the interpreter
    # gives up with a fatal error when it ends.
    with contextlib.suppress(OSError):
        while os.read(0, 1):
            continue
    if os.name == "nt":
        import _thread

        _thread.interrupt_main()
    else:
        os.kill(os.getpid(), signal.SIGTERM)
