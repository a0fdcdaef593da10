"""The arrows between the rooms, and how big a thing may grow."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
ROOMS = ("kitdesk", "rentals", "readiness", "tests")
PURE_ROOMS = ("readiness/signal", "rentals/planning", "rentals/reports")
PURE = [name for name in PURE_ROOMS if (ROOT / name).is_dir()]
LONGEST_FILE = 350
LONGEST_FUNCTION = 60

BLOCKED = """
import importlib, pkgutil, sys

class Refuse:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] in {"django", "django_tasks", "environ", "allauth", "reportlab"}:
            raise ImportError(f"{name} is blocked here")

sys.meta_path.insert(0, Refuse())
count = 0
for root in sys.argv[1:]:
    package = importlib.import_module(root)
    for found in pkgutil.walk_packages(package.__path__, root + "."):
        if found.name.endswith("__main__"):
            continue
        importlib.import_module(found.name)
        count += 1
assert not any(name.partition(".")[0] == "django" for name in sys.modules)
print(count)
"""


def _sources(*folders: str) -> list[Path]:
    found = [path for folder in folders for path in (ROOT / folder).rglob("*.py")]
    return [path for path in found if "migrations" not in path.parts]


def _imports(path: Path) -> set[str]:
    """Every module that a file names in an import, also inside functions; relative ones in full."""
    package = path.relative_to(ROOT).with_suffix("").parts
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = ".".join(package[: len(package) - node.level]) if node.level else ""
            name = ".".join(filter(None, (base, node.module)))
            found.update({name, *(f"{name}.{alias.name}" for alias in node.names)})
    return found


def test_the_arrows_point_one_way():
    checked = subprocess.run(
        [
            sys.executable,
            "-c",
            "from importlinter.cli import lint_imports_command as run; run()",
            "--no-cache",
        ],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert checked.returncode == 0, checked.stdout + checked.stderr
    assert "0 broken" in checked.stdout


@pytest.mark.parametrize("folder", PURE)
def test_the_pure_rooms_name_no_django_anywhere(folder):
    for path in _sources(folder):
        outside = {
            name
            for name in _imports(path)
            if name.partition(".")[0] in ("django", "kitdesk", "django_tasks")
        }
        assert not outside, f"{path.relative_to(ROOT)} imports {sorted(outside)}"


def test_the_pure_rooms_work_where_there_is_no_django():
    roots = [folder.replace("/", ".") for folder in PURE]
    done = subprocess.run(
        [sys.executable, "-c", BLOCKED, *roots],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert int(done.stdout) >= 3


def test_rentals_never_looks_at_the_bench_or_the_project():
    for path in _sources("rentals"):
        upward = {
            name for name in _imports(path) if name.partition(".")[0] in ("readiness", "kitdesk")
        }
        assert not upward, f"{path.relative_to(ROOT)} imports {sorted(upward)}"


@pytest.mark.parametrize("room", ["rentals", "readiness"])
def test_screens_change_nothing_by_themselves(room):
    """Views and forms write only through actions: no save, create, update or delete on a row."""
    writing = {
        "save",
        "create",
        "bulk_create",
        "update_or_create",
        "get_or_create",
        "bulk_update",
        "delete",
    }
    for path in _sources(room):
        if "views" not in path.parts and path.stem != "views":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if (
                isinstance(node, ast.Call)
                and isinstance(node.func, ast.Attribute)
                and node.func.attr in writing
            ):
                assert _writes_no_row(node.func), (
                    f"{path.relative_to(ROOT)}:{node.lineno} calls .{node.func.attr}()"
                )


def _writes_no_row(call: ast.Attribute) -> bool:
    """A file storage, an image or a session also has save() and delete(); those are no rows."""
    owner = call.value
    name = (
        owner.id
        if isinstance(owner, ast.Name)
        else owner.attr
        if isinstance(owner, ast.Attribute)
        else ""
    )
    return name.endswith(("storage", "image", "session", "workbook", "book"))


@pytest.mark.parametrize("room", ROOMS)
def test_no_file_grows_beyond_what_one_reads_in_one_go(room):
    sizes = {
        path.relative_to(ROOT): len(path.read_text(encoding="utf-8").splitlines())
        for path in _sources(room)
    }
    assert sizes
    too_long = {str(path): lines for path, lines in sizes.items() if lines > LONGEST_FILE}
    assert not too_long, f"longer than {LONGEST_FILE} lines: {too_long}"


@pytest.mark.parametrize("room", ["kitdesk", "rentals", "readiness"])
def test_no_function_grows_beyond_one_screen(room):
    too_long = []
    for path in _sources(room):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
                start = (
                    node.body[1].lineno
                    if ast.get_docstring(node) and len(node.body) > 1
                    else node.body[0].lineno
                )
                lines = (node.end_lineno or start) - start + 1
                if lines > LONGEST_FUNCTION:
                    too_long.append(f"{path.relative_to(ROOT)}:{node.lineno} {node.name} ({lines})")
    assert not too_long, f"longer than {LONGEST_FUNCTION} lines: {too_long}"


@pytest.mark.parametrize("room", ["kitdesk", "rentals", "readiness"])
def test_no_drawer_for_everything(room):
    vague = [
        path
        for path in _sources(room)
        if path.stem in ("utils", "helpers", "common", "misc", "signals")
    ]
    assert not vague


def test_actions_take_their_transactions_from_where_the_log_is_written():
    """Rows that an action writes in a transaction of Django's own would be unknown to the log."""
    actions = _sources("rentals/actions", "readiness/actions")
    strays = [path for path in actions if "django.db.transaction" in _imports(path)]
    assert not strays, f"`from rentals import transaction` instead: {strays}"


MIRRORED = (
    "readiness/actions",
    "readiness/judgement",
    "readiness/selectors",
    "readiness/signal",
    "rentals/actions",
    "rentals/next_acts",
    "rentals/paper",
    "rentals/planning",
    "rentals/post",
    "rentals/reports",
    "rentals/roster",
    "rentals/seals",
    "rentals/selectors",
)
WITHOUT_A_TEST_OF_ITS_OWN = {
    "rentals/next_acts/stock.py",  # one constant; tests/rentals/next_acts/test_ways.py follows it
    "rentals/seals/chain.py",  # its lines: tests/rentals/seals/test_check.py changes each of them
    "rentals/seals/protected.py",  # its tables: tests/rentals/seals/test_every_column.py
    "rentals/seals/tables.py",  # the same
    "rentals/post/facts.py",  # frozen values without a rule in them
    "rentals/reports/report.py",  # the same; every test of a report's maker follows it
}


@pytest.mark.parametrize("room", MIRRORED)
def test_every_module_has_its_test_file_at_the_same_path(room):
    modules = {path.relative_to(ROOT) for path in _sources(room) if not path.stem.startswith("__")}
    excused = {Path(name) for name in WITHOUT_A_TEST_OF_ITS_OWN}
    missing = [
        str(path)
        for path in sorted(modules - excused)
        if not (ROOT / "tests" / path.with_name(f"test_{path.name}")).is_file()
    ]
    assert not missing, f"no test file at the mirrored path: {missing}"
    assert all((ROOT / path).is_file() for path in excused)
