"""Whether the portal does its work: scheduled tasks with their runs, versions of the law, database, broker, e-mail."""

import datetime
from dataclasses import dataclass

from celery import current_app
from django.conf import settings
from django.db import connection

from compliance.models import MessageState, RecordDelivery, Reminder, ReminderChannel, TaskRun
from compliance.rulebook.tables import load_tables
from compliance.rulebook.version import RULEBOOK_VERSION
from compliance.selectors.reminder_preferences import waits_for_its_hour
from compliance.selectors.reminder_reach import ReminderReach, reminder_reach
from compliance.selectors.reminders import IN_DOUBT, reminder_log
from compliance.selectors.staleness import stale_appliances
from compliance.selectors.task_runs import ScheduledTask, SweepWatch, scheduled_tasks, sweep_watch

BROKER_WAIT_S = 2
UNSENT = (MessageState.WAITING, MessageState.SENDING)


@dataclass(frozen=True)
class SystemStatus:
    """What the status page shows.

    ``held_count`` are reminders that wait for a digest or for the end of quiet hours, ``waiting_count`` all others that
    wait, ``doubt_count`` those of which nobody can know how often they arrived. ``broker_error`` is empty while the
    broker answers.
    """

    tasks: list[ScheduledTask]
    sweep: SweepWatch
    other_runs: list[TaskRun]
    stale_count: int
    waiting_count: int
    held_count: int
    failed_count: int
    doubt_count: int
    records_waiting_count: int
    records_failed: list[RecordDelivery]
    reach: ReminderReach
    rulebook_version: str
    tables_version: str
    database: str
    broker: str
    broker_error: str
    mail: str


def system_status(now: datetime.datetime) -> SystemStatus:
    """Look at every part, as of an instant."""
    tasks = scheduled_tasks(now)
    emails = Reminder.objects.filter(channel=ReminderChannel.EMAIL)
    unsent = emails.filter(state__in=UNSENT)
    held = unsent.filter(waits_for_its_hour(now), digest=None)
    return SystemStatus(
        tasks=tasks,
        sweep=sweep_watch(now),
        other_runs=list(TaskRun.objects.exclude(name__in=[task.name for task in tasks]).order_by("name")),
        stale_count=stale_appliances(now).count(),
        waiting_count=unsent.count() - held.count(),
        held_count=held.count(),
        failed_count=emails.filter(state=MessageState.FAILED).count(),
        doubt_count=reminder_log(state=IN_DOUBT).count(),
        records_waiting_count=RecordDelivery.objects.filter(state__in=UNSENT).count(),
        records_failed=list(
            RecordDelivery.objects.filter(state=MessageState.FAILED).select_related("event").order_by("-pk")
        ),
        reach=reminder_reach(),
        rulebook_version=RULEBOOK_VERSION,
        tables_version=load_tables().version,
        database=_database(),
        broker="Redis" if settings.REDIS_URL else "folder of files on this machine",
        broker_error=_broker_error(),
        mail=_mail(),
    )


def _database() -> str:
    version = ".".join(str(part) for part in connection.get_database_version())
    return f"{connection.display_name} {version}"


def _broker_error() -> str:
    try:
        with current_app.connection_for_write() as broker:
            broker.ensure_connection(max_retries=1, timeout=BROKER_WAIT_S)
    except Exception as error:  # noqa: BLE001 -- whatever goes wrong is what the page shows
        return f"{type(error).__name__}: {error}"
    return ""


def _mail() -> str:
    if not settings.EMAIL_URL:
        return "kept in the mailbox folder; none leaves this machine"
    return f"sent by {settings.EMAIL_HOST}"
