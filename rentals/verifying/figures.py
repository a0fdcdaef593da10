"""What a check took."""

from __future__ import annotations

import sys


def figures(seconds: float) -> str:
    """Time on the clock, processor time and the largest memory of this process and its helpers."""
    try:
        import resource
    except ImportError:
        return f"{seconds:.0f} s on the clock."
    own = resource.getrusage(resource.RUSAGE_SELF)
    helpers = resource.getrusage(resource.RUSAGE_CHILDREN)
    processor = own.ru_utime + own.ru_stime + helpers.ru_utime + helpers.ru_stime
    # Kilobytes on Linux, bytes on macOS.
    unit = 1e6 if sys.platform == "darwin" else 1e3
    return (
        f"{seconds:.0f} s on the clock, {processor:.0f} s of processor; at most"
        f" {own.ru_maxrss / unit:.0f} MB in this process, {helpers.ru_maxrss / unit:.0f} MB in"
        " each helper."
    )
