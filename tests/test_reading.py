"""How the code reads: one name for one class, short lines, no formatter switched off."""

import ast
from collections import defaultdict
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PRODUCT = ("kitdesk", "rentals", "readiness")
# Names that Django itself asks for, once in every file of their kind.
NAMED_BY_DJANGO = {"Meta", "Command", "Migration"}
LONG_TEMPLATE_LINE = 120
# Percent of all template lines: a sentence in a tag cannot be broken. It only ever goes down.
LONG_TEMPLATE_LINES_ALLOWED = 0.5


def _product_files() -> list[Path]:
    files = [path for folder in PRODUCT for path in (ROOT / folder).rglob("*.py")]
    return [path for path in files if "migrations" not in path.parts]


def _places_by_class_name() -> dict[str, list[str]]:
    places = defaultdict(list)
    for path in _product_files():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef):
                places[node.name].append(f"{path.relative_to(ROOT)}:{node.lineno}")
    return places


def test_no_two_classes_share_a_name():
    shared = {
        name: places
        for name, places in _places_by_class_name().items()
        if len(places) > 1 and name not in NAMED_BY_DJANGO
    }
    assert not shared


def test_nobody_switches_the_formatter_off():
    switch = "# fmt: " + "skip"
    off = "# fmt: " + "off"
    files = [*_product_files(), *(ROOT / "tests").rglob("*.py")]
    switched = []
    for path in files:
        text = path.read_text(encoding="utf-8")
        if switch in text or off in text:
            switched.append(str(path.relative_to(ROOT)))
    assert not switched


def test_template_lines_are_short():
    files = sorted((ROOT / "templates").rglob("*.html"))
    lines = [line for path in files for line in path.read_text(encoding="utf-8").splitlines()]
    long_lines = [line for line in lines if len(line) > LONG_TEMPLATE_LINE]
    percent = 100 * len(long_lines) / len(lines)
    assert percent <= LONG_TEMPLATE_LINES_ALLOWED
