"""Tables of the people at the desk and of the machinery, and the places outside of all tables."""

from __future__ import annotations

from .keeping import Elsewhere, Table, Term

OF_THE_DESK = (
    Table("auth.Permission", nameless=("name", "codename")),
    Table("auth.Group", nameless=("name",)),
    Table("auth.User", nameless=("password", "username", "first_name", "last_name", "email")),
    Table("contenttypes.ContentType", nameless=("app_label", "model")),
    Table("account.EmailAddress", nameless=("email",)),
    Table("account.EmailConfirmation", nameless=("key",)),
    Table("mfa.Authenticator", nameless=("data",)),
    Table(
        "sessions.Session",
        what="Who at the desk is signed in, and notices that wait for them",
        why="A notice may name a student; such names are replaced",
        term=Term.SESSIONS,
        nameless=("session_key", "session_data"),
    ),
    Table(
        "rentals.Errand",
        what="Work in the background, and what was found by it",
        why="So that it can be left and come back to",
        term=Term.RESULTS,
        sweeps=("title", "problem", "said", "named", "file_name"),
        nameless=(
            *("kind", "facts", "about", "seen_by", "state", "at_hand", "goes_to", "content_type"),
        ),
    ),
    Table(
        "rentals.ErrandPiece",
        what="Papers and lists that were made in the background",
        why="To be downloaded by who asked for them",
        term=Term.RESULTS,
        wiped=("content",),
    ),
    Table(
        "django_tasks_database.DBTaskResult",
        what="Work in the background",
        why="What went wrong may name a student; such names are replaced",
        sweeps=("traceback", "return_value", "args_kwargs"),
        nameless=(
            "id",
            "task_path",
            "worker_ids",
            "queue_name",
            "backend_name",
            "exception_class_path",
        ),
    ),
)

ELSEWHERE = (
    Elsewhere(
        "Outbox",
        "Mails as files, where no mail server is set",
        "As long as the mail",
        "Files to the student's address are deleted.",
    ),
    Elsewhere(
        "Mail server",
        "Mails that have left, on the server and in the student's mailbox",
        "As its keeper says",
        "Out of the desk's reach: delete them in your mailbox.",
    ),
    Elsewhere(
        "Backups",
        "The whole desk, as it was",
        "Daily ones as they are rotated: 7 days, 5 weeks, 12 months; others until you delete them",
        "An older backup still holds the student. When it is put back, every erasure since is"
        " carried out again, by the list that lies beside it.",
    ),
    Elsewhere(
        "Database",
        "Rows that were changed or deleted",
        "Overwritten at once; on PostgreSQL with its next vacuum",
        "Nothing to do.",
    ),
    Elsewhere(
        "Cache",
        "Network addresses of failed sign-ins",
        "Minutes",
        "Names no student.",
    ),
    Elsewhere(
        "Log",
        "Faults, on the console; the desk keeps no log file",
        "As the machine keeps it",
        "Names mails and captures by number; what a mail server answers may hold an address.",
    ),
    Elsewhere(
        "Papers, lists and files saved from the desk",
        "What was printed or downloaded",
        "As you keep them",
        "Out of the desk's reach: destroy them.",
    ),
)
