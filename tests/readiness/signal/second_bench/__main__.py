"""Judge kits of the second bench on still + flex + lift, and print what came of it.

python -m tests.readiness.signal.second_bench --kits 1000 --seed 7 --workers 2 [--show]
"""

from __future__ import annotations

import argparse

from .figures import table
from .judging import judge_kits


def main() -> None:
    """Read the options, judge, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.readiness.signal.second_bench")
    parser.add_argument("--kits", type=int, default=210, help="how many kits")
    parser.add_argument("--seed", type=int, default=1, help="another seed, other kits")
    parser.add_argument("--workers", type=int, default=1, help="processes")
    parser.add_argument("--show", action="store_true", help="one line for each kit, too")
    options = parser.parse_args()
    kits = []
    for kit in judge_kits(options.kits, options.seed, options.workers):
        kits.append(kit)
        if options.show:
            size = f"{kit.ailment.size:.3g} {kit.ailment.lead}" if kit.ailment else ""
            print(kit.number, kit.label, size, kit.verdict, kit.tests, kit.against, flush=True)
    print(table(kits))


if __name__ == "__main__":
    main()
