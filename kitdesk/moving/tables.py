"""Which tables move house, and which stay behind and why. A table in neither list fails a test."""

from __future__ import annotations

from collections.abc import Iterator

from django.apps import apps
from django.db.models import Model

#: By label, written so that a table comes after those it refers to.
MOVED = (
    "auth.Group",
    "auth.User",
    "auth.User_groups",
    "account.EmailAddress",
    "mfa.Authenticator",
    "rentals.AccessToken",
    "rentals.Webhook",
    "rentals.WebhookCall",
    "rentals.Practice",
    "rentals.Carrier",
    "rentals.CustomsAnswer",
    "rentals.TransitTime",
    "rentals.MailWording",
    "rentals.StudentText",
    "rentals.ReminderRule",
    "rentals.CalendarLink",
    "rentals.LabelSheet",
    "rentals.LeftOutStep",
    "rentals.OwnStep",
    "rentals.StockItem",
    "rentals.ElectrodeBatch",
    "rentals.KitType",
    "rentals.ContentsLine",
    "rentals.ReturnStep",
    "rentals.Kit",
    "rentals.RemovedLine",
    "rentals.Part",
    "rentals.Amplifier",
    "rentals.LicenceKey",
    "rentals.LeadSet",
    "rentals.Lead",
    "rentals.BatteryPack",
    "rentals.Charger",
    "rentals.CourseRun",
    "rentals.RosterDraft",
    "rentals.Student",
    "rentals.Enrolment",
    "rentals.Earmark",
    "rentals.Loan",
    "rentals.SearchWord",
    "rentals.RemovedLine_still_packed_in",
    "rentals.LoanStep",
    "rentals.Event",
    "rentals.StudentLink",
    "rentals.PackingLine",
    "rentals.Replacement",
    "rentals.ReturnCheck",
    "rentals.ReturnLine",
    "rentals.LinePhoto",
    "rentals.FoundPart",
    "rentals.GuideVisit",
    "rentals.TriedStep",
    "rentals.FaultReport",
    "rentals.Shortfall",
    "rentals.Entry",
    # After the shortfalls: the database refuses those over pieces that it knows to have lacked.
    "rentals.ArrivalCheck",
    "rentals.ArrivalLine",
    "rentals.MessageBatch",
    "rentals.Message",
    "rentals.MessageStep",
    "rentals.Attachment",
    "readiness.BenchPlan",
    "readiness.Upload",
    "readiness.Capture",
    "readiness.TurnedAway",
    "readiness.CheckKit",
    "readiness.GuidedRound",
    "readiness.Verdict",
    "readiness.BenchTest",
    "readiness.BenchTest_captures",
    "readiness.CaptureMark",
    "readiness.StudentCapture",
    "rentals.LogLine",
    "rentals.LogHead",
)

#: By name in the database, each with its reason.
STAYS = {
    "django_migrations": "the new desk brings its tables up to date itself; the steps are compared",
    "django_content_type": "made anew with the tables; nothing refers to it",
    "auth_permission": "made anew with the tables; rights here are roles, never single permissions",
    "auth_group_permissions": "rights here are roles, never single permissions",
    "auth_user_user_permissions": "rights here are roles, never single permissions",
    "django_session": "a cookie of the old address opens nothing: everybody signs in again",
    "account_emailconfirmation": "addresses are not confirmed here",
    "django_tasks_database_dbtaskresult": "jobs of workers; the new desk finds what waits itself",
    "rentals_submittedform": "keys of forms that were sent, against sending them twice: a day old",
    "rentals_errand": "work in the background, and what came of it: kept for a week at most",
    "rentals_errandpiece": "files that were made in the background: made anew in moments",
    "rentals_verification": "when `verify` ran on the old machine; `import` ends with a run here",
    "rentals_tablemark": "drawn by the database itself with every change",
    "kitdesk_cache": "waits after wrong passwords; what else is in it is worked out anew",
}

#: A new desk holds rows of these by itself, which make room for those that come.
FILLED_BY_ITSELF = frozenset({"auth.Group", "rentals.LogLine", "rentals.LogHead"})

#: Tables, or columns of them, that only `import` reads: no spreadsheet wants them, or they open
#: something.
NOT_FOR_READING = frozenset(
    {
        "mfa.Authenticator",
        "auth.User.password",
        "rentals.AccessToken.token_sha256",
        "rentals.CalendarLink.token_sha256",
        "rentals.StudentLink",
        "rentals.Webhook.nonce",
        "rentals.Attachment.content",
        "rentals.SearchWord",
        "rentals.LogLine",
        "rentals.LogHead",
        "readiness.CaptureMark",
    }
)


def moved_models() -> Iterator[type[Model]]:
    """Those of MOVED, in its order."""
    return (_model(label) for label in MOVED)


def _model(label: str) -> type[Model]:
    app, name = label.split(".")
    found = (
        model
        for model in apps.get_app_config(app).get_models(include_auto_created=True)
        if model._meta.object_name == name
    )
    return next(found)


def is_for_reading(model: type[Model], column: str) -> bool:
    """Whether a column also goes into the table that people read."""
    label = model._meta.label
    return not {label, f"{label}.{column}"} & NOT_FOR_READING
