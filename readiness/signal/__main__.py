"""``python -m readiness.signal FILE...``: the score command without Django."""

from __future__ import annotations

import sys

from .command import main

if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
