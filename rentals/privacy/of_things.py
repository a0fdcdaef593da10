"""Tables about things, in which people may have written a student's name all the same; and tables
that name no student.
"""

from __future__ import annotations

from .keeping import Table, Term

_FREE_WORDS = "Words that people write about a thing may name a student; such names are replaced"
_LINE = ("name", "inner_bag", "origin", "tariff_number")
_STOCK = ("name", "shelf", "unit", "supplier")

OF_THINGS = (
    Table(
        "rentals.Kit",
        what="Notes on kits, reasons for holds",
        why=_FREE_WORDS,
        sweeps=("hold_reason", "not_cleared_reason", "override_reason", "note"),
        nameless=("code", "last_hash"),
    ),
    Table(
        "rentals.Part",
        what="Notes on parts",
        why=_FREE_WORDS,
        sweeps=("damage_note", "note"),
        nameless=("code", "serial"),
    ),
    Table(
        "rentals.CourseRun", sweeps=("note",), nameless=("name", "post_by_rule", "return_by_rule")
    ),
    Table(
        "rentals.Event",
        what="The history: what happened, when, and who at the desk did it",
        why="To account for every kit; it stays whole, names in it are replaced",
        sweeps=("text",),
        nameless=(
            "chain",
            "data",
            "actor_name",
            "previous_hash",
            "hash",
            "words_salt",
            "words_hash",
        ),
    ),
    Table("rentals.LogLine", nameless=("table", "digest", "mac")),
    Table("rentals.LogHead", nameless=("mac", "key_mark")),
    Table("rentals.TableMark", nameless=("table",)),
    Table("rentals.KitType", nameless=("name", "description", "instructions")),
    Table("rentals.ReturnStep", nameless=("words",)),
    Table("rentals.LoanStep", nameless=("words",)),
    Table("rentals.ContentsLine", nameless=_LINE),
    Table("rentals.RemovedLine", nameless=_LINE),
    Table("rentals.LicenceKey", sweeps=("product_text",)),
    Table("rentals.Lead", nameless=("colour",)),
    Table("rentals.StockItem", nameless=_STOCK),
    Table("rentals.PackagingPart", nameless=_STOCK),
    Table("rentals.ElectrodeBatch", nameless=("batch_number",)),
    Table("rentals.Carrier", nameless=("name", "address_pattern")),
    Table("rentals.CustomsAnswer", sweeps=("note",), nameless=("home", "destination")),
    Table("rentals.TransitTime", nameless=("destination",)),
    Table("rentals.LabelSheet", nameless=("name",)),
    Table("rentals.MailWording", sweeps=("subject", "text"), nameless=("language",)),
    Table("rentals.LeftOutStep", nameless=("symptom", "step")),
    Table("rentals.OwnStep", nameless=("symptom", "title", "to_try", "rules_out")),
    Table("rentals.StudentText", sweeps=("body",), nameless=("key", "language")),
    Table("rentals.AccessToken", nameless=("name", "token_sha256", "scopes")),
    Table("rentals.Webhook", nameless=("address", "topics", "nonce", "paused_why")),
    Table("rentals.WebhookCall", nameless=("call_id", "topic", "body", "last_words")),
    Table("rentals.CalendarLink", sweeps=("name",), nameless=("token_sha256",)),
    Table(
        "rentals.RosterDraft",
        what="Rosters under way: the rows of a file that was uploaded",
        why="To put right what a file says before students are taken from it",
        term=Term.DRAFTS,
        sweeps=("file_name", "content", "result"),
    ),
    Table(
        "rentals.SubmittedForm",
        what="Keys of forms that were sent",
        why="So that a form sent twice does nothing twice",
        term=Term.FORMS,
        nameless=("key", "act", "result"),
    ),
    Table(
        "rentals.Practice",
        nameless=(
            "name",
            "instructor",
            "email",
            "phone",
            "street",
            "city",
            "postcode",
            "region",
            "country",
            "currency",
            "mail_language",
            "site_url",
            "payment_instructions",
            "account_name",
            "iban",
            "bic",
        ),
    ),
    Table(
        "readiness.Capture",
        what="Capture files, with what their headers say",
        why="To test kits; samples stay, a student's name in name or header is overwritten",
        sweeps=("name", "declared", "refusal", "set_aside"),
        bytes_swept="file",
        bytes_of="kit__loans__enrolment__student",
        nameless=("sha256", "missing"),
    ),
    Table("readiness.TurnedAway", sweeps=("name", "sentence")),
    Table(
        "readiness.BenchTest",
        sweeps=("sentence", "findings", "warnings", "not_cleared_because"),
        nameless=("required", "tests", "proven"),
    ),
    Table("readiness.Verdict", sweeps=("result",), nameless=("why", "method_version", "limits")),
    Table("readiness.CaptureMark", nameless=("mark",)),
    Table(
        "readiness.BenchPlan",
        sweeps=("noise_reason", "battery_reason"),
        nameless=("tests", "column_maps"),
    ),
)
