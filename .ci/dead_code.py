#!/usr/bin/env python3
"""Names that nobody reads: exits with 1 and lists them.

Vulture sees Python only. What the templates read, and what the settings name by a dotted path,
counts as read too. A name that only tests use is unused: the product does not need it.
"""

import ast
import re
import sys
from pathlib import Path

from vulture.core import Item, Vulture

ROOT = Path(__file__).resolve().parent.parent
PRODUCT = ("kitdesk", "readiness", "rentals")
DOTTED_PATH = re.compile(r"^[a-z_]+(\.\w+)+$")
TEMPLATE_WORDS = re.compile(r"{[{%](.*?)[%}]}", re.DOTALL)

# Read by a framework, never by our own code; the reason stands beside each group.
READ_BY_FRAMEWORKS = {
    "Django reads them on forms, their Meta, fields and widgets": (
        *("Meta", "model", "fields", "widgets", "help_texts", "labels", "field_order"),
        "formfield_callback",
        *(
            "clean",
            "clean_*",
            "min_value",
            "allow_multiple_selected",
            "input_type",
            "template_name",
            "label_from_instance",
            "queryset",
        ),
    ),
    "Django reads them on models, their Meta and app configurations": (
        *("verbose_name*", "ordering", "constraints", "indexes", "abstract", "proxy"),
        *("default_auto_field", "adding", "get_absolute_url"),
    ),
    "Django reads them where it makes and reads queries": ("compiler_module", "from_db"),
    "Django reads them on expressions": ("output_field", "as_postgresql", "as_sqlite"),
    "only migrations use it, and they are not looked at": ("CreateTogether",),
    "Django reads them on commands": (
        *("Command", "help", "add_arguments", "handle", "requires_system_checks"),
    ),
    "Django reads them in urls and wsgi": (
        *("app_name", "handler4*", "handler500", "application"),
        *("regex", "to_python", "to_url"),
    ),
    "Django reads them on answers": ("status_code",),
    "Django calls middleware and checks": (
        "process_view",
        "process_exception",
        "app_configs",
        "_mutable",
    ),
    "the sign-in library calls them": (
        *("is_open_for_signup", "pre_authenticate", "_rollback_login_failed_rl_usage"),
    ),
    "the web server reads them": (
        *("channel_class", "parser_class", "max_request_body_size", "to_response"),
    ),
    "Django's mail backend reads it": ("connection_class",),
    "the import system calls it": ("get_source",),
    "the standard library calls it on redirects": ("redirect_request",),
    "the library of the store calls it": ("_create_session",),
    "the standard library reads them": ("tempdir", "default_port"),
    "set on arrays so that nobody writes into shared ones": ("writeable",),
    "ReportLab reads it": ("useA85",),
    "ReportLab reads them on a font and its face": (
        *("_asciiReadable", "shapable", "bbox", "capHeight", "italicAngle", "stemV"),
        *("_full_font", "defaultWidth", "makeSubset"),
    ),
    "HarfBuzz calls them on a pen": ("qCurveTo", "closePath"),
    "chosen by its value in an address": ("XLSX",),
    "a key of the limits that stand with every stored verdict": ("loan_days",),
    "the sine fit that published values check, which the quick search for mains is held against": (
        *("fit_sines", "amplitudes", "amplitude_u", "frequency_u_hz", "residual_rms"),
    ),
}
READ_BY_REGISTRATION = [
    "@operation",
    "@errand_work",
    "@API.*",
    "@register",
    "@register.*",
    "@receiver",
    "@require_*",
]
# Columns of stored rows and their choices are kept facts, read by people and by later versions.
STORED = ("rentals/models", "readiness/models")
READ_AS_A_WHOLE = ("kitdesk/settings.py",)


def unused_names() -> list[str]:
    """One line for each: ``file:line: unused kind 'name'``."""
    patterns = [name for names in READ_BY_FRAMEWORKS.values() for name in names]
    vulture = Vulture(ignore_names=patterns, ignore_decorators=READ_BY_REGISTRATION)
    for word in sorted(_words_of_templates() | _words_of_dotted_paths()):
        vulture.scan(f"_.{word}")
    vulture.scavenge([str(ROOT / folder) for folder in PRODUCT], exclude=["*/migrations/*"])
    stored = _names_of_columns()
    return [_line(item) for item in vulture.get_unused_code() if not _is_kept(item, stored)]


def _words_of_templates() -> set[str]:
    words: set[str] = set()
    for path in (ROOT / "templates").rglob("*"):
        if path.is_file():
            for inside in TEMPLATE_WORDS.findall(path.read_text(encoding="utf-8")):
                words.update(re.findall(r"[A-Za-z_]\w*", inside))
    return {word for word in words if word.isidentifier() and not _is_keyword(word)}


def _is_keyword(word: str) -> bool:
    try:
        ast.parse(f"_.{word}")
    except SyntaxError:
        return True
    return False


def _words_of_dotted_paths() -> set[str]:
    """Classes and functions that the settings and urls name in a string."""
    words: set[str] = set()
    named_in = ("settings.py", "file_place.py", "urls.py", "account_urls.py")
    for name in (f"kitdesk/{file}" for file in named_in):
        for node in ast.walk(ast.parse((ROOT / name).read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                words.update(node.value.split(".") if DOTTED_PATH.match(node.value) else ())
    return words


def _names_of_columns() -> set[str]:
    """What is assigned in the classes of the models."""
    names: set[str] = set()
    for path in (path for folder in STORED for path in (ROOT / folder).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Assign):
                names.update(target.id for target in node.targets if isinstance(target, ast.Name))
    return names


def _is_kept(item: Item, stored: set[str]) -> bool:
    if _path(item).as_posix() in READ_AS_A_WHOLE:
        return item.typ == "variable"
    return item.typ in ("variable", "attribute") and item.name in stored


def _path(item: Item) -> Path:
    return Path(item.filename).resolve().relative_to(ROOT)


def _line(item: Item) -> str:
    return f"{_path(item)}:{item.first_lineno}: unused {item.typ} '{item.name}'"


if __name__ == "__main__":
    unused = unused_names()
    print("\n".join(unused) if unused else "No name is unused.")
    sys.exit(bool(unused))
