"""Why the log does not hold the other tables: a new one is decided here or in `protected.py`."""

_PERSON = "a person's own facts, which are corrected and erased"
_REPLAYED = "`verify` holds it against the events of its kit"
_WORDS = "the owner's words; a mail that left keeps its own"
_PLANNED = "only a plan; what comes of it are events"
_OPENS = "it opens something; whom it let in are events"
_WORK = "work that waits or is done; what it did are events"

#: By label.
UNPROTECTED = {
    "rentals.Student": _PERSON,
    "rentals.Enrolment": "who is on which run; each loan names its own, and is held",
    "rentals.SearchWord": "words of names and numbers, by which a search finds their rows",
    "rentals.RosterDraft": "a roster before it is taken, a day old",
    "rentals.GuideVisit": _PERSON,
    "rentals.TriedStep": _PERSON,
    "rentals.ArrivalCheck": _REPLAYED,
    "rentals.ArrivalLine": _REPLAYED,
    "rentals.FaultReport": _REPLAYED,
    "rentals.FoundPart": "what came in a parcel and was on no list: its events tell of it",
    "rentals.LoanStep": _REPLAYED,
    "rentals.Replacement": _REPLAYED,
    "rentals.Earmark": "`verify` holds it against the events of its run",
    "rentals.CourseRun": _PLANNED,
    "rentals.ReturnStep": "what is asked after a return; each loan keeps its own, with its list",
    "rentals.RemovedLine": "what kit types no longer hold; packed lists keep hashes of their own",
    "rentals.RemovedLine_still_packed_in": "as the lines it belongs to",
    "rentals.Carrier": "names and addresses of carriers; no verdict and no money rests on them",
    "rentals.CustomsAnswer": "the owner's words on customs papers, which are kept as printed",
    "rentals.TransitTime": "days of the post, from which days are proposed; a loan's are held",
    "rentals.LabelSheet": "sizes of sheets of labels",
    "rentals.MailWording": _WORDS,
    "rentals.StudentText": _WORDS,
    "rentals.OwnStep": _WORDS,
    "rentals.LeftOutStep": _WORDS,
    "rentals.ReminderRule": _PLANNED,
    "rentals.MessageBatch": _WORK,
    "rentals.Message": "a mail; that it left is an event with the hash of what it said",
    "rentals.MessageStep": _WORK,
    "rentals.Attachment": "papers of a mail, as they were printed; lists carry their hash",
    "rentals.CalendarLink": _OPENS,
    "rentals.StudentLink": _OPENS,
    "rentals.Webhook": "where news goes; it says nothing of the desk",
    "rentals.Errand": "work in the background, whose acts have events of their own",
    "rentals.ErrandPiece": "files made in the background, which can be made again",
    "rentals.WebhookCall": "news on its way, made from events",
    "rentals.SubmittedForm": "keys of forms, against sending them twice: a day old",
    "rentals.Verification": "when `verify` ran, and what it said: a word about the log",
    "rentals.LogLine": "the log itself, whose lines carry a keyed code each",
    "rentals.LogHead": "the log's own end, which is told outside of it",
    "auth.User": "`verify` holds roles against the events of accounts; the rest is sign-in",
    "auth.Group": "names of roles",
    "auth.User_groups": "`verify` holds roles against the events of accounts",
    "auth.Permission": "rights here are roles, never single permissions",
    "auth.Group_permissions": "rights here are roles, never single permissions",
    "auth.User_user_permissions": "rights here are roles, never single permissions",
    "account.EmailAddress": _PERSON,
    "account.EmailConfirmation": "addresses are not confirmed here",
    "mfa.Authenticator": _OPENS,
    "contenttypes.ContentType": "made with the tables; nothing rests on it",
    "sessions.Session": "who is signed in, for days",
    "django_tasks_database.DBTaskResult": _WORK,
}
