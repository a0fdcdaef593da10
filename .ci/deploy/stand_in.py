"""What stands in for systemd where a scratch folder has none: the same units, the same lines and
environment, as plain processes.
"""

from __future__ import annotations

import fnmatch
import json
import os
import shlex
import signal
import socket
import socketserver
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path

#: The command `systemctl`: its words go to the process that holds the units.
ASKING = """#!{python}
import json, os, socket, sys
line = socket.socket(socket.AF_UNIX)
line.connect({address!r})
line.sendall(json.dumps(sys.argv[1:]).encode() + b"\\n")
code, words = json.loads(line.makefile().readline())
print(words, end="", file=sys.stderr)
sys.exit(code)
"""


class Unit:
    """One unit file: its lines by name, with what stands after the @ put in."""

    def __init__(self, folder: Path, name: str) -> None:
        stem, at, instance = name.rpartition(".")[0].partition("@")
        file = folder / (f"{stem}@.service" if at else name)
        self.lines: dict[str, list[str]] = {}
        for line in file.read_text(encoding="utf-8").splitlines():
            key, equals, value = line.partition("=")
            if equals and not line.startswith("#"):
                self.lines.setdefault(key, []).append(value.replace("%i", instance))

    def first(self, key: str, usual: str = "") -> str:
        """The first value of a line, or the usual one."""
        return self.lines.get(key, [usual])[0]

    def environment(self) -> dict[str, str]:
        """What the environment files say, read as systemd reads them: nothing else gets in."""
        found = {"PATH": "/usr/local/bin:/usr/bin:/bin", "HOME": "/"}
        for name in self.lines.get("EnvironmentFile", []):
            for line in Path(name).read_text(encoding="utf-8").splitlines():
                key, equals, value = line.partition("=")
                if equals and not line.lstrip().startswith("#"):
                    found[key.strip()] = "".join(shlex.split(value))
        return found


class Units:
    """The units that run, and the sockets held for them."""

    def __init__(self, root: Path, account: tuple[str, str] | None) -> None:
        self.folder = root / "etc" / "systemd" / "system"
        self.logs = root / "log"
        self._root = root
        self._account = account
        self._running: dict[str, subprocess.Popen[bytes]] = {}
        self._sockets: dict[str, socket.socket] = {}
        self._lock = threading.Lock()

    def systemctl(self, words: list[str]) -> None:
        """Do what `systemctl` would. Raises OSError, KeyError or CalledProcessError."""
        act, names = words[0], [word for word in words[1:] if not word.startswith("-")]
        with self._lock:
            if act == "enable" and "--now" in words:
                act = "start"
            acts: dict[str, list[Callable[[str], None]]] = {
                "start": [self._start],
                "stop": [self._stop],
                "restart": [self._stop, self._start],
            }
            if act in ("daemon-reload", "enable"):
                return
            for unit in [found for name in names for found in self._named(name)]:
                for step in acts[act]:
                    step(unit)

    def lose(self, name: str) -> None:
        """What happens to a service on a machine that is switched off: killed with all it started,
        its socket gone.
        """
        process = self._running.pop(name)
        os.killpg(process.pid, signal.SIGKILL)
        if (held := self._sockets.pop(name.replace(".service", ".socket"), None)) is not None:
            held.close()
        process.wait()

    def number_of(self, name: str) -> int | None:
        """Number of a service's first process, which is that of its group too; None where it does
        not run.
        """
        process = self._running.get(name)
        return None if process is None or process.poll() is not None else process.pid

    def alive(self) -> dict[str, bool]:
        """Whether each unit that was started still runs."""
        return {name: process.poll() is None for name, process in self._running.items()}

    def stop_all(self) -> None:
        """Stop everything and let go of the sockets."""
        for name in [*self._running, *self._sockets]:
            self._stop(name)

    def _named(self, name: str) -> list[str]:
        """Units that run under a pattern, in the order of their start; a plain name is itself."""
        if "*" not in name:
            return [name if "." in name else f"{name}.service"]
        return [running for running in self._running if fnmatch.fnmatch(running, f"{name}*")]

    def _start(self, name: str) -> None:
        if name in self._running or name in self._sockets or name.endswith(".timer"):
            return
        if name == "nginx.service":
            self._run(name, ["nginx", "-c", str(nginx_conf(self._root)), "-g", "daemon off;"])
            return
        unit = Unit(self.folder, name)
        if name.endswith(".socket"):
            host, _, port = unit.first("ListenStream").rpartition(":")
            self._sockets[name] = socket.create_server(
                (host, int(port)), backlog=int(unit.first("Backlog", "128"))
            )
            return
        commands = [shlex.split(line) for line in unit.lines["ExecStart"]]
        if unit.first("Type") == "oneshot":
            for command in commands:
                if self._run(name, command, unit).wait():
                    raise OSError(f"{name} failed: {self.log(name)[-600:]}")
                del self._running[name]
            return
        self._run(name, commands[0], unit, self._sockets.get(unit.first("Requires")))

    def _run(
        self,
        name: str,
        command: list[str],
        unit: Unit | None = None,
        held: socket.socket | None = None,
    ) -> subprocess.Popen[bytes]:
        """Start one process the way systemd hands over environment, folder, account and socket."""
        environment = unit.environment() if unit else dict(os.environ)
        descriptors = ()
        if held is not None:
            environment["LISTEN_FDS"] = "1"
            descriptors = (held.fileno(),)
            script = f'exec 3<&{held.fileno()}; LISTEN_PID=$$ exec "$@"'
            command = ["bash", "-c", script, "unit", *command]
        user, group = self._account if unit and self._account else (None, None)
        self.logs.mkdir(exist_ok=True)
        with (self.logs / f"{name}.txt").open("ab") as log:
            process = subprocess.Popen(
                command,
                env=environment,
                cwd=unit.first("WorkingDirectory", "/") if unit else "/",
                umask=int(unit.first("UMask", "0022"), 8) if unit else -1,
                user=user,
                group=group,
                extra_groups=[] if user else None,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                pass_fds=descriptors,
                start_new_session=True,
            )
        self._running[name] = process
        return process

    def _stop(self, name: str) -> None:
        if (held := self._sockets.pop(name, None)) is not None:
            held.close()
        if (process := self._running.pop(name, None)) is not None:
            process.send_signal(signal.SIGTERM)
            try:
                process.wait(90)
            except subprocess.TimeoutExpired:
                os.killpg(process.pid, signal.SIGKILL)
                process.wait()

    def log(self, name: str) -> str:
        """What a unit has written."""
        return (self.logs / f"{name}.txt").read_text(encoding="utf-8", errors="replace")


def nginx_conf(root: Path) -> Path:
    """Where nginx finds what it is to serve; the sites are those of the page."""
    return root / "etc" / "nginx" / "nginx.conf"


def ways_log(root: Path) -> Path:
    """Where nginx writes of each request what came of it, and which servers it went to."""
    return root / "ways.txt"


def write_nginx_conf(root: Path, account: tuple[str, str] | None) -> None:
    """The rest of nginx's configuration, which a Debian machine brings along."""
    folder = nginx_conf(root).parent
    for name in ("sites-available", "sites-enabled"):
        (folder / name).mkdir(parents=True)
    temporary = "".join(
        f"    {kind}_temp_path {root}/nginx-{kind};\n"
        for kind in ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
    )
    user = "user {} {};\n".format(*account) if account else ""
    nginx_conf(root).write_text(
        f"{user}pid {root}/nginx.pid;\nerror_log stderr;\nevents {{ worker_connections 2048; }}\n"
        "http {\n    log_format ways '$status $request_method $upstream_addr';\n"
        f"    access_log {ways_log(root)} ways;\n{temporary}"
        f"    include {folder}/sites-enabled/*;\n}}\n",
        encoding="utf-8",
    )


def answer_systemctl(units: Units, folder: Path) -> socketserver.BaseServer:
    """Put a `systemctl` into a folder of programs; whoever calls it reaches these units."""
    address = str(folder / "units.socket")

    class Answer(socketserver.StreamRequestHandler):
        def handle(self) -> None:
            try:
                units.systemctl(json.loads(self.rfile.readline()))
                answer = (0, "")
            except (OSError, KeyError) as problem:
                answer = (1, f"systemctl: {problem}\n")
            self.wfile.write(json.dumps(answer).encode() + b"\n")

    server = socketserver.ThreadingUnixStreamServer(address, Answer)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    program = folder / "systemctl"
    program.write_text(ASKING.format(python=sys.executable, address=address), encoding="utf-8")
    program.chmod(0o755)
    return server
