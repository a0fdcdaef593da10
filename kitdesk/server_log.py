"""A WSGI server that writes a log of its own writes it as the desk does: what a visitor sent, and
from which address, is in no line of it.
"""

import logging

from kitdesk.log_masks import SERVER_LOGS


def mask_server_log() -> None:
    """Give the writers of a server's own log the desk's way of telling. Call it where the server
    has loaded the desk: it has its writers by then.
    """
    forms = [writer.formatter for writer in logging.getLogger().handlers if writer.formatter]
    for name in SERVER_LOGS:
        for writer in logging.getLogger(name).handlers:
            writer.setFormatter(forms[0] if forms else None)
