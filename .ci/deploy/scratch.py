"""A machine in a folder: the programs that the page calls, some of them stood in for."""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

from page import BASE_DIR, FILES, SITE, Place
from stand_in import Units, answer_systemctl, nginx_conf, write_nginx_conf

sys.path.insert(0, str(BASE_DIR))

from kitdesk import throwaway_postgres

#: What is there instead of a Debian machine's own program, as lines for the shell.
PROGRAMS = {
    # What is missing was installed before; the account is one that is here already.
    "apt-get": "exit 0",
    "adduser": "exit 0",
    "runuser": """
account=$2; shift 3
[ "$account" = postgres ] && exec env PGHOST=127.0.0.1 PGPORT={database_port} PGUSER=postgres "$@"
{as_account} "$@"
""",
    "certbot": """
folder={root}/etc/letsencrypt/live/{site}
mkdir -p "$folder"
exec openssl req -x509 -newkey rsa:2048 -nodes -days 2 -subj "/CN={site}" \
    -addext "subjectAltName=DNS:{site}" -keyout "$folder/privkey.pem" -out "$folder/fullchain.pem"
""",
    "nginx": 'exec {nginx} -c {nginx_conf} "$@"',
    # A clone takes the libraries that are here, unless they are to be installed anew.
    "git": """
{git} "$@"
[ "$1" != clone ] || [ -z "{venv}" ] || ln -s {venv} "${{@: -1}}/.venv"
""",
}
WANTED = {"nginx": "nginx", "openssl": "openssl", "git": "git", "runuser": "util-linux"}


@dataclass(frozen=True)
class Machine:
    """A scratch machine on which the page's lines are run."""

    place: Place
    units: Units
    programs: Path

    def run(self, lines: str, **settings: str) -> str:
        """Run lines of the page; gives what they said. Raises CalledProcessError."""
        root = self.place.root
        path = f"{self.programs}:{root}/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin"
        environment = {"PATH": path, "HOME": str(root), "LANG": "C.UTF-8", **settings}
        done = subprocess.run(
            ["bash", "-euo", "pipefail", "-c", self.place.moved(lines)],
            env=environment,
            cwd=root,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.STDOUT,
            text=True,
            check=False,
        )
        if done.returncode:
            raise subprocess.CalledProcessError(done.returncode, lines, done.stdout)
        return done.stdout

    @property
    def certificate(self) -> Path:
        """The certificate that nginx shows, which browsers here trust."""
        return self.place.root / "etc" / "letsencrypt" / "live" / SITE / "fullchain.pem"

    def new_version(self, word: str) -> None:
        """Put a version into the repository that is cloned: its style sheets have one line more,
        so its pages name other files.
        """
        for sheet in (self.place.source / "static").rglob("*.css"):
            with sheet.open("a", encoding="utf-8") as stream:
                stream.write(f"/* {word} */\n")
        _commit(self.place.source, word)


@contextlib.contextmanager
def scratch_machine(*, new_venv: bool) -> Iterator[Machine]:
    """A machine with a PostgreSQL server of its own, gone afterwards."""
    # Told to end, it takes all of it away first.
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    install_missing()
    account = _account(new_venv=new_venv)
    with (
        tempfile.TemporaryDirectory(prefix="kitdesk-try-", ignore_cleanup_errors=True) as name,
        throwaway_postgres.running(_postgres(), superuser="postgres") as address,
    ):
        root = Path(name)
        root.chmod(0o755)
        ports = [free_port() for _ in range(3)]
        place = Place(root, root / "source", account, *ports[:1], _port(address), *ports[1:])
        for folder in ("etc/systemd/system", "usr/local/bin", "var/lib", "var/backups", "bin"):
            (root / folder).mkdir(parents=True)
        _write_source(place)
        write_nginx_conf(root, account)
        units = Units(root, account)
        programs = root / "bin"
        _write_programs(place, programs, new_venv=new_venv)
        server = answer_systemctl(units, programs)
        try:
            yield Machine(place, units, programs)
        finally:
            units.stop_all()
            server.shutdown()
            server.server_close()


def _account(*, new_venv: bool) -> tuple[str, str] | None:
    """The account that the desk runs under: one that may do nothing else, or this one, where that
    one cannot reach the interpreter of `.venv`.
    """
    if os.geteuid() != 0:
        return None
    interpreter = ["true"] if new_venv else [BASE_DIR / ".venv" / "bin" / "python", "-V"]
    words = ["runuser", "-u", "nobody", "--", *interpreter]
    reached = subprocess.run(words, capture_output=True, check=False).returncode == 0
    return ("nobody", "nogroup") if reached else None


def install_missing() -> None:
    """Take from the system's packages what is not here. Raises CalledProcessError."""
    missing = [package for name, package in WANTED.items() if not shutil.which(name)]
    if not throwaway_postgres.programs():
        missing.append("postgresql")
    if not missing:
        return
    root = [] if os.geteuid() == 0 else ["sudo"]
    quietly = ["env", "DEBIAN_FRONTEND=noninteractive", "apt-get", "-qq"]
    subprocess.run([*root, *quietly, "update"], check=True)
    subprocess.run([*root, *quietly, "install", "--no-install-recommends", *missing], check=True)


def free_port() -> int:
    """A loopback port that was free a moment ago."""
    with contextlib.closing(socket.create_server(("127.0.0.1", 0))) as probe:
        return int(probe.getsockname()[1])


def _port(address: str) -> int:
    return urlsplit(address).port or 5432


def _postgres() -> Path:
    folder = throwaway_postgres.programs()
    if folder is None:
        raise RuntimeError(throwaway_postgres.HOW_TO_GET)
    return folder


def _write_source(place: Place) -> None:
    """The repository that the page's ADDRESS leads to: this one as it stands, with the paths and
    ports of this place in the files that are put in place.
    """
    subprocess.run(["git", "clone", "--quiet", BASE_DIR, place.source], check=True)
    target = place.source / FILES.relative_to(BASE_DIR)
    for file in FILES.iterdir():
        moved = place.moved(file.read_text(encoding="utf-8"))
        (target / file.name).write_text(moved, encoding="utf-8")
    _commit(place.source, "place")


def _commit(source: Path, word: str) -> None:
    who = ["-c", "user.name=try", "-c", "user.email=try@localhost"]
    for words in (["add", "-A"], [*who, "commit", "--quiet", "-m", word]):
        subprocess.run(["git", "-C", source, *words], check=True)


def _write_programs(place: Place, folder: Path, *, new_venv: bool) -> None:
    venv, runuser = BASE_DIR / ".venv", shutil.which("runuser")
    here = {
        "root": place.root,
        "site": SITE,
        "database_port": place.database_port,
        "nginx": shutil.which("nginx"),
        "git": shutil.which("git"),
        "nginx_conf": nginx_conf(place.root),
        "venv": "" if new_venv else venv.resolve(),
        "as_account": f"exec {runuser} -u {place.account[0]} --" if place.account else "exec",
    }
    for name, lines in PROGRAMS.items():
        program = folder / name
        program.write_text(f"#!/bin/bash\n{lines.format(**here)}\n", encoding="utf-8")
        program.chmod(0o755)
