"""The process in which files from outside are opened: it forks for them, takes from the fork what
a hostile file could use, and lets it answer with plain data.

Started by `rentals.limited_process`; imports no Django and is given no secret.
"""

from __future__ import annotations

import gc
import importlib
import json
import os
import signal
import socket
import struct
import sys
import traceback
from collections.abc import Callable
from typing import Any, NoReturn

if sys.platform != "win32":
    import resource as system

Message = bytes | bytearray
MIB = 2**20
ONCE = "once"
#: Of an order to fork: the names of a module and a function, and two numbers.
LONGEST_ORDER = 4096
_OPEN_FILES = 64
_LONGEST_MESSAGE = 64 * MIB
_LENGTH = struct.Struct(">Q")


def packed(facts: dict[str, Any], data: bytes) -> bytes:
    """Facts and raw bytes as one message; never a pickle, for the reader may not trust the
    writer.
    """
    return json.dumps(facts).encode("ascii") + b"\n" + data


def unpacked(message: Message) -> tuple[dict[str, Any], bytes]:
    """Facts and bytes of a message.

    Raises
    ------
    ValueError
        If it is none.
    """
    head_ends = message.index(b"\n")
    try:
        facts = json.loads(message[:head_ends])
    except RecursionError:
        raise ValueError("nested too deep") from None
    if not isinstance(facts, dict):
        raise ValueError("no message")
    return facts, bytes(memoryview(message)[head_ends + 1 :])


def send(channel: socket.socket, message: bytes) -> None:
    """Send a message with its length before it."""
    channel.sendall(_LENGTH.pack(len(message)))
    channel.sendall(message)


def receive(channel: socket.socket, most: int, before: Callable[[], None]) -> Message:
    """A message that was sent so, empty where the sender is gone; `before` is called before each
    wait.

    Raises
    ------
    OSError
        If it is longer than `most` bytes.
    """
    length = bytearray(_LENGTH.size)
    if not _fill(channel, length, before):
        return b""
    (wanted,) = _LENGTH.unpack(length)
    if wanted > most:
        raise OSError("too long")
    message = bytearray(wanted)
    return message if _fill(channel, message, before) else b""


def _fill(channel: socket.socket, space: bytearray, before: Callable[[], None]) -> bool:
    """Whether so many bytes came."""
    rest = memoryview(space)
    while rest:
        before()
        came = channel.recv_into(rest)
        if not came:
            return False
        rest = rest[came:]
    return True


def answer_to(message: Message) -> bytes:
    """Call what a message names and pack what comes of it, be it an error."""
    try:
        request, data = unpacked(message)
        function = getattr(importlib.import_module(request["module"]), request["function"])
        facts, out = function(request["facts"], data)
        return packed({"facts": facts}, out)
    except (MemoryError, RecursionError):
        return packed({"over": True}, b"")
    except Exception:
        return packed({"failed": traceback.format_exc()}, b"")


def _serve(control: socket.socket) -> None:
    """Fork for each order until the process that gives them is gone."""
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    while True:
        message, channels, _, _ = socket.recv_fds(control, LONGEST_ORDER, 1)
        if not message:
            return
        order = json.loads(message)
        if order["module"] not in sys.modules:
            importlib.import_module(order["module"])
            # What is loaded stays shared between the forks: no collection writes to it.
            gc.collect()
            gc.freeze()
        pid = os.fork()
        if pid == 0:
            control.close()
            _answer(channels[0], order)
        os.close(channels[0])
        control.send(str(pid).encode())


def _answer(descriptor: int, order: dict[str, Any]) -> NoReturn:
    """The life of a fork: limits, then a message in and one out for each file, the time anew."""
    try:
        os.setpgid(0, 0)
        _limit(order["seconds"] * order["files"], order["mib"])
        with socket.socket(fileno=descriptor) as channel:
            for _ in range(order["files"]):
                message = receive(channel, _LONGEST_MESSAGE, lambda: None)
                if not message:
                    break
                _limit_time(order["seconds"])
                send(channel, answer_to(message))
    finally:
        os._exit(0)


def _limit_time(seconds: int) -> None:
    """So much processor time from now on."""
    used = sum(os.times()[:2])
    hard = system.getrlimit(system.RLIMIT_CPU)[1]
    system.setrlimit(system.RLIMIT_CPU, (min(hard, int(used) + seconds + 1), hard))


def _limit(seconds: int, mib: int) -> None:
    """Limits that this process cannot raise again: processor time, memory beyond what is loaded, no
    byte written to any file, no further process, no core dump.
    """
    with open("/proc/self/statm", encoding="ascii") as sizes:  # noqa: PTH123  nothing to load
        pages = int(sizes.read().split()[0])
    memory = pages * system.getpagesize() + mib * MIB
    for kind, most in (
        (system.RLIMIT_AS, memory),
        (system.RLIMIT_CPU, seconds),
        (system.RLIMIT_FSIZE, 0),
        (system.RLIMIT_NOFILE, _OPEN_FILES),
        (system.RLIMIT_NPROC, 0),
        (system.RLIMIT_CORE, 0),
    ):
        system.setrlimit(kind, (most, most))


def _main() -> None:
    if sys.argv[1:] == [ONCE]:
        sys.stdout.buffer.write(answer_to(sys.stdin.buffer.read()))
        return
    control = socket.socket(fileno=os.dup(0))
    # No fork is to hold the channel of orders.
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    with control:
        _serve(control)


if __name__ == "__main__":
    _main()
