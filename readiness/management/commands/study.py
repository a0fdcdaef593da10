"""Judge the scorer: many simulated kits with known faults, and how often each verdict was right."""

from __future__ import annotations

import json
import os
from argparse import ArgumentParser
from typing import Any, cast

from django.core.management.base import BaseCommand

from readiness.signal.chances import TABLE
from readiness.signal.study.cohort import run_kits, score_kit
from readiness.signal.study.curves import (
    LeakPoint,
    NoisePoint,
    OpenPoint,
    leak_curve,
    noise_curve,
    open_curve,
    plain_curves,
)
from readiness.signal.study.history import history_lines
from readiness.signal.study.report import kit_lines, miss_lines, report
from readiness.signal.study.sight import chances_json, sights
from readiness.signal.study.tally import plain, tally


class Command(BaseCommand):
    help = __doc__
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--captures", type=int, default=3000, help="captures to score, five to a kit"
        )
        parser.add_argument("--seed", type=int, default=1, help="another seed gives other kits")
        parser.add_argument(
            "--spread", type=float, default=1.0, help="2: the model's free parameters twice as wide"
        )
        parser.add_argument(
            "--workers",
            type=int,
            default=os.cpu_count() or 1,
            help="processes (default: all cores)",
        )
        parser.add_argument(
            "--curves",
            type=int,
            default=40,
            metavar="N",
            help="captures a point of a curve; 0: none",
        )
        parser.add_argument(
            "--kit", type=int, metavar="NUMBER", help="show one kit of the study and what was found"
        )
        parser.add_argument(
            "--misses",
            action="store_true",
            help="list the number of every kit with a wrong verdict",
        )
        parser.add_argument(
            "--write-chances",
            type=int,
            metavar="KITS",
            help="score so many faulty kits and store how often each fault is seen",
        )
        parser.add_argument(
            "--history",
            type=int,
            metavar="KITS",
            help="how many retests a kit's earlier lifts would save, and which faults they pass",
        )
        parser.add_argument("--json", action="store_true", help="figures as one JSON object")

    def handle(self, *args: Any, **options: Any) -> None:
        seed, spread, workers = options["seed"], options["spread"], options["workers"]
        if options["kit"] is not None:
            self.stdout.write(kit_lines(score_kit(options["kit"], seed, spread)))
            return
        if options["write_chances"]:
            looks = sights(options["write_chances"], seed, workers)
            TABLE.write_text(chances_json(looks, seed), encoding="utf-8")
            self.stdout.write(f"Written: {TABLE.name}")
            return
        if options["history"]:
            self.stdout.write("\n".join(history_lines(options["history"], seed, workers)))
            return
        kits = list(run_kits(options["captures"], seed, spread, workers))
        figures = tally(kits)
        if options["misses"]:
            self.stdout.write("\n".join(miss_lines(kits)))
        opens: list[OpenPoint] = []
        noise: list[NoisePoint] = []
        leaks: list[LeakPoint] = []
        if options["curves"]:
            opens = open_curve(options["curves"], seed, spread, workers)
            noise = noise_curve(options["curves"], seed, spread, workers)
            leaks = leak_curve(options["curves"], seed, spread, workers)
        if options["json"]:
            figures_as_json = cast(dict[str, Any], plain(figures))
            self.stdout.write(json.dumps(figures_as_json | plain_curves(opens, noise, leaks)))
        else:
            self.stdout.write(report(figures, opens, noise, leaks))
