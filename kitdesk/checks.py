"""Start-up checks: a wrong setting is named with its cure before the first request."""

from collections.abc import Sequence
from email.utils import parseaddr
from pathlib import Path
from typing import Any

from django.apps import AppConfig
from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, Warning, register
from django.core.files.storage import default_storage

from kitdesk.private_files import open_to_others
from kitdesk.traces.readers import SHORTEST_TOKEN, short_tokens
from rentals.desk_command import OF_THE_DESK
from rentals.seals.tables import undecided_tables
from rentals.store_away import StoreAway


@register(Tags.database, OF_THE_DESK)
def sqlite_is_set_for_many_writers(
    app_configs: Sequence[AppConfig] | None, **kwargs: Any
) -> list[CheckMessage]:
    """WAL without IMMEDIATE fails most contended writes at once, and no timeout helps."""
    problems: list[CheckMessage] = []
    for alias, database in settings.DATABASES.items():
        if database["ENGINE"] != "django.db.backends.sqlite3":
            continue
        options = database.get("OPTIONS", {})
        if options.get("transaction_mode") != "IMMEDIATE" or "journal_mode=WAL" not in options.get(
            "init_command", ""
        ):
            problems.append(
                Error(
                    f"The SQLite database {alias!r} is not set for several writers.",
                    hint=(
                        "Keep transaction_mode IMMEDIATE and journal_mode=WAL in"
                        " kitdesk/settings.py."
                    ),
                    id="kitdesk.E001",
                )
            )
        if database.get("ATOMIC_REQUESTS"):
            problems.append(
                Error(
                    "ATOMIC_REQUESTS would make every page a writer on SQLite.",
                    hint="Leave it off; each action opens its own transaction.",
                    id="kitdesk.E002",
                )
            )
    return problems


@register(Tags.compatibility, OF_THE_DESK)
def data_folder_is_writable(
    app_configs: Sequence[AppConfig] | None, **kwargs: Any
) -> list[CheckMessage]:
    """Captures, mail files and the SQLite database all live in one folder."""
    folder = Path(settings.VAR)
    probe = folder / ".writable"
    try:
        probe.touch()
        probe.unlink(missing_ok=True)
    except OSError as problem:
        return [
            Error(
                f"Kitdesk cannot write to its data folder {folder}: {problem.strerror}.",
                hint=(
                    "Give the account that runs Kitdesk the right to write there, or set"
                    " KITDESK_VAR."
                ),
                id="kitdesk.E003",
            )
        ]
    return []


@register(Tags.models)
def log_knows_every_table(
    app_configs: Sequence[AppConfig] | None, **kwargs: Any
) -> list[CheckMessage]:
    """A table that nobody has thought of would be changed by hand unseen."""
    return [
        Error(
            f"Nobody has decided whether the log holds the table {label}.",
            hint="Protect it in rentals/seals/protected.py, or give the reason beside it.",
            id="kitdesk.E008",
        )
        for label in undecided_tables()
    ]


@register(Tags.compatibility, OF_THE_DESK)
def log_has_a_form(app_configs: Sequence[AppConfig] | None, **kwargs: Any) -> list[CheckMessage]:
    """A log that is collected by a program must not turn out plain for a slip of the pen."""
    if settings.KITDESK_LOG in ("json", "plain"):
        return []
    return [
        Error(
            f"KITDESK_LOG is {settings.KITDESK_LOG!r}, which is no form of the log.",
            hint="Set it to json, for programs, or to plain, for people.",
            id="kitdesk.E007",
        )
    ]


@register(Tags.security, OF_THE_DESK)
def tokens_cannot_be_guessed(
    app_configs: Sequence[AppConfig] | None, **kwargs: Any
) -> list[CheckMessage]:
    """Whatever is no address is a token: a slip in an address would be one of few letters."""
    if not short_tokens():
        return []
    return [
        Error(
            "KITDESK_METRICS holds what is neither an address nor a token of"
            f" {SHORTEST_TOKEN} letters.",
            hint="Name addresses, networks such as 10.0.0.0/24, or long tokens, with commas.",
            id="kitdesk.E006",
        )
    ]


@register(Tags.security, OF_THE_DESK)
def data_is_private(app_configs: Sequence[AppConfig] | None, **kwargs: Any) -> list[CheckMessage]:
    """Students' addresses and the signing key are for the account that runs the desk."""
    seen = [str(path) for path in open_to_others()]
    if not seen:
        return []
    more = f" and {len(seen) - 3} more" if len(seen) > 3 else ""
    return [
        Warning(
            f"Other accounts of this machine may read {', '.join(seen[:3])}{more}.",
            hint=(
                "`python3 manage.py prepare` takes that right away; where the files belong to"
                " another account, give them to the one that runs Kitdesk first."
            ),
            id="kitdesk.W003",
        )
    ]


@register(Tags.security, deploy=True)
def site_address_is_public(
    app_configs: Sequence[AppConfig] | None, **kwargs: Any
) -> list[CheckMessage]:
    """Printed QR codes carry SITE_URL: a code that points at the desk's own machine opens on no
    phone.
    """
    if any(name in settings.SITE_URL for name in ("127.0.0.1", "localhost")):
        return [
            Warning(
                f"SITE_URL is {settings.SITE_URL}: QR codes printed with it open on this machine"
                " only.",
                hint=(
                    "Set SITE_URL to the address that phones use, for example"
                    " https://desk.example.org."
                ),
                id="kitdesk.W001",
            )
        ]
    return []


@register(Tags.security, deploy=True)
def sender_can_be_answered(
    app_configs: Sequence[AppConfig] | None, **kwargs: Any
) -> list[CheckMessage]:
    """Mail servers refuse mail whose sender no server on the internet knows."""
    domain = parseaddr(settings.DEFAULT_FROM_EMAIL)[1].rpartition("@")[2]
    if settings.KITDESK_MAIL_TO_FILES or "." in domain:
        return []
    return [
        Warning(
            f"Mail is sent from {settings.DEFAULT_FROM_EMAIL}, which most mail servers refuse.",
            hint=(
                "Set DEFAULT_FROM_EMAIL to an address of yours, for example 'Kitdesk"
                " <desk@example.org>'."
            ),
            id="kitdesk.W002",
        )
    ]


@register(Tags.files, OF_THE_DESK)
def font_files_are_usable(
    app_configs: Sequence[AppConfig] | None, **kwargs: Any
) -> list[CheckMessage]:
    """A font file that is missing or cannot be embedded is found at start, not when a parcel waits
    for its list.
    """
    if not settings.KITDESK_FONTS:
        return []
    # It loads the PDF library: only where there is something to check.
    from rentals.selectors.paper_facts.practice import house_fonts

    try:
        house_fonts()
    except ValueError as problem:
        hint = "KITDESK_FONTS names TrueType files (.ttf, .ttc), separated by commas."
        return [Error(str(problem), hint=hint, id="kitdesk.E004")]
    return []


def store_problem() -> str | None:
    """Why files cannot be kept in the store that KITDESK_FILES names; None where they can, and
    where they are kept in a folder.
    """
    try_out = getattr(default_storage, "try_out", None)
    if try_out is None:
        return None
    try:
        try_out()
    except StoreAway as away:
        return away.sentence
    return None


@register(Tags.files, deploy=True)
def store_takes_files(app_configs: Sequence[AppConfig] | None, **kwargs: Any) -> list[CheckMessage]:
    """Bucket and keys are tried out before the first photo is taken. Not by every command: it takes
    the store three answers.
    """
    problem = store_problem()
    return [] if problem is None else [Error(problem, id="kitdesk.E005")]
