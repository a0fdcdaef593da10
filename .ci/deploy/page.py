"""The page kitdesk/deployment.md as what it is: lines to be run, in their order."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

BASE_DIR = Path(__file__).resolve().parent.parent.parent
PAGE = BASE_DIR / "kitdesk" / "deployment.md"
FILES = BASE_DIR / "kitdesk" / "deploy"
SITE = "desk.example.org"


def blocks_of(text: str) -> dict[int, list[str]]:
    """The blocks of lines to be run, by the number of their section."""
    found: dict[int, list[str]] = {}
    for section in re.split(r"^## ", text, flags=re.MULTILINE)[1:]:
        number = section.partition(".")[0]
        blocks = re.findall(r"(?:^    .*\n)+", section, re.MULTILINE)
        if blocks and number.isdecimal():
            found[int(number)] = [re.sub(r"^    ", "", block, flags=re.M) for block in blocks]
    return found


@dataclass(frozen=True)
class Place:
    """Where this run of the page takes place: a scratch folder, free ports, an account that is
    here already.
    """

    root: Path
    source: Path
    account: tuple[str, str] | None
    desk_port: int
    database_port: int
    http_port: int
    https_port: int

    def moved(self, text: str) -> str:
        """The same text for this place: paths, ports and the account are others, nothing else."""
        owner = "-o {} -g {}".format(*self.account) if self.account else ""
        here = {
            "-o kitdesk -g kitdesk": owner,
            "127.0.0.1:8001": f"127.0.0.1:{self.desk_port}",
            "127.0.0.1:5432": f"127.0.0.1:{self.database_port}",
            "listen 80;": f"listen 127.0.0.1:{self.http_port};",
            "listen 443 ": f"listen 127.0.0.1:{self.https_port} ",
            "listen [::]:80;": "",
            "listen [::]:443 ssl http2;": "",
            "git clone ADDRESS": f"git clone --quiet {self.source}",
        }
        for word, other in here.items():
            text = text.replace(word, other)
        # Not where the folder stands behind another one already.
        folders = r"(?<![\w.])/(opt/kitdesk|etc/|var/lib/kitdesk|var/backups|usr/local/bin)"
        return re.sub(folders, rf"{self.root}/\1", text)
