"""The task application: its broker, its limits, and what runs when.

Without REDIS_URL messages travel as files below the data folder. Whichever broker carries them,
a message is only a nudge: what is owed stands in the database, every task may run twice, and
the entries of the schedule find whatever a lost message left undone.
"""

import os
from typing import Any

from celery import Celery
from celery.schedules import crontab
from celery.signals import beat_init, setup_logging, worker_init
from django.conf import settings

from portal.broker import folder_broker

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "portal.settings")

HARD_LIMIT_S = 20 * 60
# Redis gives a message to another worker when it wasn't acknowledged for this long: longer than any task may run that
# wouldn't find its work claimed, as the one for reports does.
REDELIVERY_S = HARD_LIMIT_S + 10 * 60

# How long a worker waits for an answer of Redis before it connects anew.
WORKER_WAITS_S = 10

SWEEP = "compliance.tasks.sweep_assessments"
RAISE = "compliance.tasks.raise_reminders"

BEAT_SCHEDULE: dict[str, dict[str, Any]] = {
    # All entries expire before their next run, so that a stopped worker finds no heap of them.
    # What time or a register has changed. Each hour, since midnight comes to one time zone after the other.
    "assess every appliance": {"task": SWEEP, "schedule": crontab(minute=10), "options": {"expires": 3000}},
    # Finds the chunks of a sweep whose message got lost or whose worker was killed.
    "go on with a sweep": {
        "task": "compliance.tasks.go_on_with_sweep",
        "schedule": crontab(),
        "options": {"expires": 50},
    },
    "raise reminders": {
        "task": RAISE,
        "schedule": crontab(minute=5),
        "options": {"expires": 3000},
    },
    "estimate next charges": {
        "task": "compliance.tasks.forecast_charges",
        "schedule": crontab(minute=25),
        "options": {"expires": 3000},
    },
    "sweep uploads of scale's logs": {
        "task": "compliance.tasks.sweep_log_uploads",
        "schedule": crontab(minute=40),
        "options": {"expires": 3000},
    },
    # By night, after the hours that changes of clocks leave out or repeat: in eastern Europe until 4.
    "seal the hash chains": {
        "task": "compliance.tasks.seal_chains",
        "schedule": crontab(hour=4, minute=35),
        "options": {"expires": 20 * 3600},
    },
    "send reminders": {
        "task": "compliance.tasks.send_reminders",
        "schedule": crontab(),
        "options": {"expires": 50},
    },
    # A report is made by the message that its order sends; this finds those whose message got lost.
    "make waiting reports": {
        "task": "compliance.tasks.make_waiting_reports",
        "schedule": crontab(minute="*/5"),
        "options": {"expires": 250},
    },
    # Likewise, one at a time: a pack may take long.
    "make waiting packs": {
        "task": "compliance.tasks.make_waiting_packs",
        "schedule": crontab(minute="*/5"),
        "options": {"expires": 250},
    },
    "send service records": {
        "task": "compliance.tasks.send_records",
        "schedule": crontab(),
        "options": {"expires": 50},
    },
}


def configuration() -> dict[str, Any]:
    """Return the application's whole configuration for the present settings."""
    return {
        **_broker(),
        "broker_connection_retry_on_startup": True,
        "task_publish_retry_policy": {"max_retries": 1, "interval_start": 0, "interval_max": 0.2},
        # Results go nowhere: the tasks write what they did into the database.
        "task_ignore_result": True,
        "task_acks_late": True,
        "task_reject_on_worker_lost": True,
        "task_soft_time_limit": HARD_LIMIT_S - 5 * 60,
        "task_time_limit": HARD_LIMIT_S,
        "worker_prefetch_multiplier": 1,
        # The libraries that make documents hold on to memory; a fresh process gives it back.
        "worker_max_tasks_per_child": 500,
        "worker_hijack_root_logger": False,
        "timezone": settings.TIME_ZONE,
        "beat_schedule": BEAT_SCHEDULE,
        "beat_scheduler": "portal.scheduler:ClockScheduler",
        "beat_schedule_filename": str(settings.DATA_DIR / "beat-schedule"),
    }


def _broker() -> dict[str, Any]:
    if settings.REDIS_URL:
        return {
            "broker_url": settings.REDIS_URL,
            "broker_transport_options": {
                "visibility_timeout": REDELIVERY_S,
                "global_keyprefix": settings.REDIS_KEY_PREFIX,
                # A request that nudges a worker must not hang when Redis is away or stands still.
                "socket_connect_timeout": 1,
                "socket_timeout": 1,
            },
        }
    address, options = folder_broker(settings.CELERY_BROKER_DIR)
    return {
        "broker_url": address,
        "broker_transport_options": options,
        # The folder has one worker to talk to; nobody would read answers to remote commands.
        "worker_enable_remote_control": False,
    }


app = Celery("portal")
# Asked for at first use: the settings are not loaded yet while this package is being imported.
app.add_defaults(configuration)
app.autodiscover_tasks(["jobs", "compliance"])


@beat_init.connect
def catch_up_at_start(**_: Any) -> None:
    """Have everything done once when the scheduler starts: it may have been down for days."""
    for entry in BEAT_SCHEDULE.values():
        app.send_task(entry["task"])


@worker_init.connect
def be_patient(**_: Any) -> None:
    """Let a worker wait longer for Redis than a request may: nobody waits for it."""
    if settings.REDIS_URL:
        app.conf.broker_transport_options |= {"socket_timeout": WORKER_WAITS_S}


@setup_logging.connect
def keep_django_logging(**_: Any) -> None:
    """Keep celery from setting up logging: Django's settings have done it."""
