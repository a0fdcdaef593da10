"""Judge kits of the second bench, and print what came of it.

python -m tests.readiness.signal.second_bench --kits 1000 --seed 7 --workers 2 [--show]
    [--second-post] [--stated]
"""

from __future__ import annotations

import argparse

from .figures import table
from .judging import PLAN, WITH_POST, judge_kits


def main() -> None:
    """Read the options, judge, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.readiness.signal.second_bench")
    parser.add_argument("--kits", type=int, default=210, help="how many kits")
    parser.add_argument("--seed", type=int, default=1, help="another seed, other kits")
    parser.add_argument("--workers", type=int, default=1, help="processes")
    parser.add_argument("--show", action="store_true", help="one line for each kit, too")
    parser.add_argument("--second-post", action="store_true", help="the ground test, too")
    parser.add_argument("--stated", action="store_true", help="the plan states the corners")
    options = parser.parse_args()
    kits = []
    plan = WITH_POST if options.second_post else PLAN
    judged = judge_kits(options.kits, options.seed, options.workers, plan, stated=options.stated)
    for kit in judged:
        kits.append(kit)
        if options.show:
            size = f"{kit.ailment.size:.3g} {kit.ailment.lead}" if kit.ailment else ""
            print(kit.number, kit.label, size, kit.verdict, kit.tests, kit.against, flush=True)
    print(table(kits, plan))


if __name__ == "__main__":
    main()
