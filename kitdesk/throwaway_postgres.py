"""A PostgreSQL server for one test run: made in a temporary folder, gone afterwards."""

import contextlib
import os
import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

HOW_TO_GET = (
    "PostgreSQL is missing: run `sudo apt-get install postgresql`, or set"
    " KITDESK_TEST_POSTGRES=postgres://..."
)
# Nothing here must survive a power cut, and speed is what a test run wants.
OPTIONS = "-c fsync=off -c synchronous_commit=off -c full_page_writes=off -c max_connections=100"


def programs() -> Path | None:
    """The folder with initdb and pg_ctl, the newest version first; None when PostgreSQL is not
    installed.
    """
    initdb = shutil.which("initdb")
    if initdb:
        return Path(initdb).resolve().parent
    folders = [path.parent for path in Path("/usr/lib/postgresql").glob("*/bin/initdb")]
    return max(folders, key=lambda folder: float(folder.parent.name), default=None)


def _unprivileged() -> tuple[int, int] | None:
    """User and group that PostgreSQL runs as when root starts it; it refuses to run as root."""
    if sys.platform == "win32" or os.geteuid() != 0:
        return None
    import pwd

    for name in ("postgres", "nobody"):
        with contextlib.suppress(KeyError):
            account = pwd.getpwnam(name)
            return account.pw_uid, account.pw_gid
    raise RuntimeError(
        "Neither the account postgres nor nobody exists; PostgreSQL does not run as root."
    )


def _free_port() -> int:
    with contextlib.closing(socket.socket()) as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextlib.contextmanager
def running(folder_of_programs: Path, superuser: str = "kitdesk") -> Iterator[str]:
    """Start a server on a free loopback port and give its DATABASE_URL. Raises RuntimeError with
    its own words.
    """
    account = _unprivileged()
    with tempfile.TemporaryDirectory(
        prefix="kitdesk-postgres-", ignore_cleanup_errors=True
    ) as temporary:
        home = Path(temporary)
        home.chmod(0o700)
        if account:
            os.chown(home, *account)
        data, port = home / "data", _free_port()

        def call(program: str, *words: str) -> None:
            done = subprocess.run(
                [folder_of_programs / program, *words],
                cwd=home,
                capture_output=True,
                text=True,
                check=False,
                user=account and account[0],
                group=account and account[1],
                extra_groups=account and [],
            )
            if done.returncode:
                raise RuntimeError(
                    f"{program} did not succeed: {(done.stderr or done.stdout).strip()[-600:]}"
                )

        call(
            "initdb",
            "-D",
            str(data),
            "-U",
            superuser,
            "-A",
            "trust",
            "-E",
            "UTF8",
            "--locale=C",
            "--no-sync",
        )
        options = f"-p {port} -c listen_addresses=127.0.0.1 -c unix_socket_directories='' {OPTIONS}"
        # The log goes to a file: a server that inherits a pipe would keep its reader waiting for
        # ever.
        call(
            "pg_ctl",
            "-D",
            str(data),
            "-w",
            "-t",
            "60",
            "-l",
            str(home / "log.txt"),
            "-o",
            options,
            "start",
        )
        try:
            yield f"postgres://{superuser}@127.0.0.1:{port}/kitdesk"
        finally:
            call("pg_ctl", "-D", str(data), "-m", "immediate", "stop")
