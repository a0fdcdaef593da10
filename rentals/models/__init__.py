"""All nouns of the loan loop, by name."""

from .access_tokens import AccessToken
from .arrival_checks import ArrivalCheck, ArrivalLine
from .carriers import Carrier
from .customs import CustomsAnswer
from .earmarks import Earmark
from .errands import Errand, ErrandKind, ErrandPiece
from .events import Event
from .found import FoundPart
from .guide import FaultReport, GuideVisit, LeftOutStep, OwnStep, TriedStep
from .kit_types import SERIAL_KINDS, ContentsLine, KitType, LineFacts, PartKind, RemovedLine
from .kits import Kit
from .ledger import OF_A_SHORTFALL, Entry, PayWay
from .loans import (
    NOT_ON_ITS_WAY_BACK,
    OPEN_STAGES,
    Loan,
    LoanStage,
    PackingLine,
    ReturnCheck,
    ReturnLine,
)
from .log import LogHead, LogLine
from .mail_setup import CalendarLink, MailWording, ReminderRule
from .messages import Attachment, Message, MessageBatch, MessageStep
from .paper import LabelSheet
from .parts import DETAIL_MODELS, Amplifier, BatteryPack, Charger, Lead, LeadSet, LicenceKey, Part
from .photos import LinePhoto
from .practice import Practice, SubmittedForm
from .replacements import Replacement
from .return_steps import LoanStep, ReturnStep
from .roster import RosterDraft
from .runs import STUDENT_FIELDS, CourseRun, Enrolment, Student
from .search_words import SearchWord, keep_words
from .shortfalls import Shortfall
from .stock import ElectrodeBatch, PackagingPart, StockItem
from .student_links import StudentLink
from .student_texts import StudentText
from .table_marks import TableMark
from .transit import TransitTime
from .verifications import Verification
from .webhooks import Webhook, WebhookCall

__all__ = [
    "DETAIL_MODELS",
    "NOT_ON_ITS_WAY_BACK",
    "OF_A_SHORTFALL",
    "OPEN_STAGES",
    "SERIAL_KINDS",
    "STUDENT_FIELDS",
    "AccessToken",
    "Amplifier",
    "ArrivalCheck",
    "ArrivalLine",
    "Attachment",
    "BatteryPack",
    "CalendarLink",
    "Carrier",
    "Charger",
    "ContentsLine",
    "CourseRun",
    "CustomsAnswer",
    "Earmark",
    "ElectrodeBatch",
    "Enrolment",
    "Entry",
    "Errand",
    "ErrandKind",
    "ErrandPiece",
    "Event",
    "FaultReport",
    "FoundPart",
    "GuideVisit",
    "Kit",
    "KitType",
    "LabelSheet",
    "Lead",
    "LeadSet",
    "LeftOutStep",
    "LicenceKey",
    "LineFacts",
    "LinePhoto",
    "Loan",
    "LoanStage",
    "LoanStep",
    "LogHead",
    "LogLine",
    "MailWording",
    "Message",
    "MessageBatch",
    "MessageStep",
    "OwnStep",
    "PackagingPart",
    "PackingLine",
    "Part",
    "PartKind",
    "PayWay",
    "Practice",
    "ReminderRule",
    "RemovedLine",
    "Replacement",
    "ReturnCheck",
    "ReturnLine",
    "ReturnStep",
    "RosterDraft",
    "SearchWord",
    "Shortfall",
    "StockItem",
    "Student",
    "StudentLink",
    "StudentText",
    "SubmittedForm",
    "TableMark",
    "TransitTime",
    "TriedStep",
    "Verification",
    "Webhook",
    "WebhookCall",
    "keep_words",
]
