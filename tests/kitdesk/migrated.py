"""A desk of its own need not migrate a database again: the run has one."""

import os
import shutil
from pathlib import Path

from kitdesk.database_template import SETTING


def copy_template(folder: Path) -> None:
    """Put the run's migrated file, with the key of its log, into the data folder of a desk to be;
    nothing where the run has none.
    """
    template = Path(os.environ.get(SETTING, ""))
    folder.mkdir(parents=True, exist_ok=True)
    if template.is_file():
        shutil.copyfile(template, folder / "kitdesk.sqlite3")
        key = folder / "log.key"
        key.write_text(os.environ["KITDESK_LOG_KEY"])
        key.chmod(0o600)
