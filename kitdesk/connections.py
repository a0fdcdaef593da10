"""How many connections the server holds at once, and for how long one that says nothing."""

import contextlib
import sys

#: More than this would keep the server busier with asking its connections than with answering.
MOST = 8000
#: Files, the database, workers and what a request opens beside its connection.
OTHER_FILES = 256
#: Where the system offers nothing to wait with but `select`, which knows no more.
WITHOUT_POLL = 400
#: Seconds without a byte in either direction after which a connection without a request ends.
IDLE_SECONDS = 30
#: Seconds between two looks at which connections are idle.
LOOK_EVERY = 5


def most_connections() -> int:
    """What this machine can hold: its limit of open files, raised as far as the system allows,
    without those that the desk needs itself.
    """
    if sys.platform == "win32":
        return WITHOUT_POLL
    import resource

    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    wanted = MOST + OTHER_FILES
    if hard != resource.RLIM_INFINITY:
        wanted = min(wanted, hard)
    if soft != resource.RLIM_INFINITY and soft < wanted:
        with contextlib.suppress(OSError, ValueError):
            resource.setrlimit(resource.RLIMIT_NOFILE, (wanted, hard))
            soft = wanted
    held = wanted if soft == resource.RLIM_INFINITY else min(soft, wanted)
    return max(held - OTHER_FILES, held // 2)


def server_options() -> dict[str, int | bool]:
    """The server's settings for connections, by waitress's names."""
    return {
        "connection_limit": most_connections(),
        "channel_timeout": IDLE_SECONDS,
        "cleanup_interval": LOOK_EVERY,
        # `select` knows no file above 1,023.
        "asyncore_use_poll": sys.platform != "win32",
    }
