"""What the law makes of the records: projections, reminders, records handed over and report runs."""

from compliance.models.acknowledgements import AcknowledgementWay, ReminderAcknowledgement
from compliance.models.assessments import ApplianceAssessment, LeakRate, Obligation, ObligationStatus
from compliance.models.assignments import ObligationAssignment
from compliance.models.calendar_feeds import CalendarEntry, CalendarFeed
from compliance.models.forecasts import ApplianceForecast
from compliance.models.outbox import MessageState
from compliance.models.record_packs import RecordPack
from compliance.models.records import RecordDelivery
from compliance.models.reminder_plans import ReminderPlan
from compliance.models.reminder_preferences import ReminderDigest, ReminderPreference, ReminderRhythm
from compliance.models.reminders import Reminder, ReminderChannel
from compliance.models.reports import ReportKind, ReportRun
from compliance.models.sweeps import AssessmentSweep, SweepChunk
from compliance.models.task_runs import TaskRun
from compliance.models.work_orders import WorkState

__all__ = [
    "AcknowledgementWay",
    "ApplianceAssessment",
    "ApplianceForecast",
    "AssessmentSweep",
    "CalendarEntry",
    "CalendarFeed",
    "LeakRate",
    "MessageState",
    "Obligation",
    "ObligationAssignment",
    "ObligationStatus",
    "RecordDelivery",
    "RecordPack",
    "Reminder",
    "ReminderAcknowledgement",
    "ReminderChannel",
    "ReminderDigest",
    "ReminderPlan",
    "ReminderPreference",
    "ReminderRhythm",
    "ReportKind",
    "ReportRun",
    "SweepChunk",
    "TaskRun",
    "WorkState",
]
