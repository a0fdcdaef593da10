#!/usr/bin/env python3
"""Kitdesk's command line. Only Python 3.11 or newer is needed; the rest is set up on first use."""

import sys

if __name__ == "__main__":
    if sys.version_info < (3, 11):  # noqa: UP036  (an older Python must get this far to say so)
        sys.exit("Kitdesk needs Python 3.11 or newer; this is Python %d.%d." % sys.version_info[:2])  # noqa: UP031
    from kitdesk.bootstrap import main

    sys.exit(main(sys.argv))
