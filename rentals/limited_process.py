"""Files from outside are opened in a process of their own, which has little time and memory and
knows no secret; what it says is taken as data only.

On Linux one small process waits beside each that opens files and forks for them: a fork costs some
milliseconds. Elsewhere each file gets a fresh interpreter, stopped when its time is over, and
nothing bounds its memory.
"""

from __future__ import annotations

import atexit
import contextlib
import json
import os
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from . import limited_child
from .limited_child import MIB, ONCE, Message, packed, receive, send, unpacked

#: What a function that runs apart takes and gives: facts that JSON can carry, and bytes.
ApartFunction = Callable[[dict[str, Any], bytes], tuple[dict[str, Any], bytes]]
FORKS = sys.platform == "linux"
_ROOT = Path(__file__).resolve().parent.parent
_AT_ONCE = max(2, os.cpu_count() or 1)
_MOST_ANSWERED = 96 * MIB
#: To start, or to load the libraries of a kind of file for the first time.
_START_S = 60.0
#: By the clock a call may take as many times its processor seconds: the machine may be busy.
_PATIENCE = 3
#: No name of a database, no key: only what an interpreter needs to find its libraries.
_KEPT_OF_THE_ENVIRONMENT = ("PATH", "SYSTEMROOT", "TEMP", "TMP", "TMPDIR", "LANG", "HOME")
_KEPT_BEGINNINGS = ("LC_", "LD_", "OPENBLAS_")


@dataclass(frozen=True)
class ProcessLimits:
    """What opening one file may take: processor seconds, and MiB beside the libraries; and how many
    files one process opens, one after the other, where those of one sender come in numbers.
    """

    seconds: int
    mib: int
    files: int = 1


class NotOpened(Exception):
    """A file was not opened, for reasons beside what stands in it."""

    sentence = ""

    def words(self, advice: str) -> str:
        """What to tell whoever sent the file; `advice` is what would help with such a file."""
        return self.sentence.format(advice=advice)


class OverLimits(NotOpened):
    """Opening the file took more time or memory than it may, or brought its process down."""

    sentence = "This file takes more time or memory to open than such a file needs. {advice}"


class AllBusy(NotOpened):
    """Other files held every place to open one; no other file would help."""

    sentence = "Many files are being opened just now. Send this one again in a minute."


class ApartFailed(RuntimeError):
    """The function itself failed, or its process could not be started; the message is its trace."""


def run_limited(
    function: ApartFunction, facts: dict[str, Any], data: bytes, limits: ProcessLimits
) -> tuple[dict[str, Any], bytes]:
    """Call `function(facts, data)` in a process of its own and give what it gives.

    The function must stand in a module that can be imported without Django. What comes back may be
    of a hostile file's making: it is JSON and bytes, and to be looked at like any other input.

    Raises
    ------
    OverLimits
        If it took more than `limits` allow, or its process ended without an answer.
    AllBusy
        If no place became free in time.
    ApartFailed
        If it raised an exception; foreseen refusals are to be answers.
    """
    request = {"module": function.__module__, "function": function.__name__, "facts": facts}
    patience = limits.seconds * _PATIENCE
    if not _places.acquire(timeout=patience):
        raise AllBusy
    try:
        message = packed(request, data)
        if FORKS:
            order = json.dumps({"module": function.__module__, **asdict(limits)}).encode()
            answer: Message = _ask_a_fork(message, order, limits.files, patience)
        else:
            answer = _ask_a_fresh_one(message, patience)
    finally:
        _places.release()
    return _read(answer)


_places = threading.BoundedSemaphore(_AT_ONCE)


def _read(message: Message) -> tuple[dict[str, Any], bytes]:
    try:
        answer, data = unpacked(message)
    except ValueError:
        raise OverLimits from None
    if "failed" in answer:
        raise ApartFailed(answer["failed"])
    facts = answer.get("facts")
    if not isinstance(facts, dict):
        raise OverLimits
    return facts, data


def _environment() -> dict[str, str]:
    kept = {
        name: value
        for name, value in os.environ.items()
        if name in _KEPT_OF_THE_ENVIRONMENT or name.startswith(_KEPT_BEGINNINGS)
    }
    # A fork of a process with threads would be unsafe, and one file keeps one core busy at most.
    one_thread = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1"}
    return {**kept, **one_thread, "PYTHONPATH": str(_ROOT), "PYTHONUTF8": "1"}


# Where processes can fork -------------------------------------------------
class _Forking:
    """The process that forks, started when it is first needed and again when it is gone."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None
        self._control: socket.socket | None = None
        self._of = 0

    def fork(self, order: bytes, channel: socket.socket) -> int:
        """Hand a channel over to a fork; its process number.

        Raises
        ------
        ApartFailed
            If the process does not start.
        """
        with self._lock:
            for _ in range(2):
                try:
                    control = self._started()
                    socket.send_fds(control, [order], [channel.fileno()])
                    if pid := control.recv(32):
                        return int(pid)
                except OSError:
                    pass
                self.end()
        raise ApartFailed("The process that opens files does not start; its own words are above.")

    def end(self) -> None:
        """Stop the process; the next call starts another."""
        if self._control is not None:
            self._control.close()
        if self._process is not None and self._of == os.getpid():
            self._process.kill()
            self._process.wait()
        self._control = self._process = None

    def _started(self) -> socket.socket:
        if self._control is None:
            self._of = os.getpid()
            self._control, theirs = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
            self._control.settimeout(_START_S)
            with theirs:
                self._process = subprocess.Popen(
                    [sys.executable, "-m", limited_child.__name__],
                    stdin=theirs.fileno(),
                    stdout=subprocess.DEVNULL,
                    env=_environment(),
                    cwd=_ROOT,
                    start_new_session=True,
                )
        return self._control


_forking = _Forking()


@dataclass
class _Fork:
    """A fork that waits for a file: what it was ordered for and how many more it opens."""

    order: bytes
    process: int
    channel: socket.socket
    files: int

    def is_there(self) -> bool:
        """Whether it neither ended nor says anything that nobody asked for."""
        try:
            self.channel.settimeout(0)
            self.channel.recv(1, socket.MSG_PEEK)
        except BlockingIOError:
            return True
        except OSError:
            return False
        return False

    def ask(self, message: bytes, ends: float) -> Message:
        """Send a message and give the answer; raises OSError when it comes too late or too long."""

        def wait_no_longer() -> None:
            left = ends - time.monotonic()
            if left <= 0:
                raise TimeoutError
            self.channel.settimeout(left)

        wait_no_longer()
        send(self.channel, message)
        self.files -= 1
        return receive(self.channel, _MOST_ANSWERED, wait_no_longer)

    def stop(self) -> None:
        """End it, whatever it does."""
        with contextlib.suppress(OSError):
            os.killpg(self.process, signal.SIGKILL)
        self.channel.close()


_resting: list[_Fork] = []


def _ask_a_fork(message: bytes, order: bytes, files: int, patience: float) -> Message:
    fork = _resting_fork(order) or _new_fork(order, files)
    try:
        answer = fork.ask(message, time.monotonic() + patience)
    except OSError:
        fork.stop()
        raise OverLimits from None
    if answer and fork.files:
        _resting.append(fork)
    else:
        fork.channel.close()
    return answer


def _resting_fork(order: bytes) -> _Fork | None:
    for fork in _resting.copy():
        with contextlib.suppress(ValueError):
            if fork.order == order:
                # Another thread may have taken it meanwhile.
                _resting.remove(fork)
                if fork.is_there():
                    return fork
                fork.channel.close()
    return None


def _new_fork(order: bytes, files: int) -> _Fork:
    mine, theirs = socket.socketpair()
    with theirs:
        for end in (mine, theirs):
            end.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, MIB)
        return _Fork(order, _forking.fork(order, theirs), mine, files)


def _end() -> None:
    """Let all processes go."""
    while _resting:
        _resting.pop().channel.close()
    _forking.end()


def _begin_anew() -> None:
    """In a fork of this process: it must not speak into the channels of the one before it."""
    global _forking, _places
    _end()
    _forking, _places = _Forking(), threading.BoundedSemaphore(_AT_ONCE)


atexit.register(_end)
if FORKS:
    os.register_at_fork(after_in_child=_begin_anew)


# Where they cannot ---------------------------------------------------------
def _ask_a_fresh_one(message: bytes, patience: float) -> bytes:
    try:
        return subprocess.run(
            [sys.executable, "-m", limited_child.__name__, ONCE],
            input=message,
            stdout=subprocess.PIPE,
            env=_environment(),
            cwd=_ROOT,
            # It starts, and libraries are loaded, for each file anew.
            timeout=patience + _START_S,
            check=False,
        ).stdout
    except subprocess.TimeoutExpired:
        raise OverLimits from None
