"""The signing key of a desk whose owner has not set one."""

import contextlib
import os
import secrets
from pathlib import Path


def kept_secret(path: Path) -> str:
    """The key kept in ``path``; made on first use, readable by its owner only.

    Two processes that start together end with the same key: each writes a file of its own and
    claims the name in one step that fails when the other was first (a hard link on POSIX, a rename
    on Windows).
    """
    if not path.exists():
        own = path.with_name(f"{path.name}.{os.getpid()}")
        with os.fdopen(os.open(own, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as file:
            file.write(secrets.token_urlsafe(64))
        claim = own.rename if os.name == "nt" else path.hardlink_to
        try:
            with contextlib.suppress(FileExistsError):
                claim(path if os.name == "nt" else own)
        finally:
            own.unlink(missing_ok=True)
    return path.read_text().strip()
