"""What runs by itself: assessing what time has changed, raising reminders, sending them and service records.

Each task reads the clock once, calls services, and notes when it ran and what came of it. All
of them may run twice or be killed: what is left to do stands in the database.
"""

import datetime
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

from celery import shared_task
from django.utils import timezone

from compliance.models import Reminder, ReminderDigest, TaskRun, WorkState
from compliance.services.forecasts import forecasts_refresh
from compliance.services.packs.runs import record_pack_claim, record_pack_make
from compliance.services.records import record_claim, record_deliver
from compliance.services.reminders import (
    digest_claim,
    digest_deliver,
    reminder_claim,
    reminder_deliver,
    reminders_raise,
)
from compliance.services.reports.runs import report_claim, report_make
from compliance.services.sweeps import (
    sweep_begin,
    sweep_chunk_assess,
    sweep_chunk_claim,
    sweep_finish,
    sweep_lanes_free,
)
from jobs.services.log_uploads import log_uploads_sweep
from jobs.services.seal_verification import heads_fallen
from jobs.services.seals import chains_seal_tonight

# Below the interval of the schedule; what is left then waits for the next run.
SENDING_LASTS = datetime.timedelta(seconds=50)
# Well below the limit of a task.
FORECASTING_LASTS = datetime.timedelta(minutes=10)
# Thousands of pages take long on a slow machine. The run gives signs of life meanwhile, and who is given its message
# once more finds it claimed.
REPORT_MAY_TAKE = datetime.timedelta(hours=3)
_LONG = {
    "time_limit": REPORT_MAY_TAKE.total_seconds(),
    "soft_time_limit": (REPORT_MAY_TAKE - datetime.timedelta(minutes=5)).total_seconds(),
}
# A report that waits this long was forgotten by its message.
REPORT_MESSAGE_LASTS = datetime.timedelta(minutes=2)


@dataclass
class _Run:
    """What a task says of itself when it ends."""

    outcome: str = ""
    has_failed: bool = False


@shared_task(name="compliance.tasks.sweep_assessments")
def sweep_assessments() -> None:
    """Have every appliance assessed whose stored answer may be another one by now, divided over the workers."""
    now = timezone.now()
    with _recorded("compliance.tasks.sweep_assessments", now) as run:
        sweep = sweep_begin(now=now)
        run.outcome = f"{sweep.stale_count} appliances to assess"
        _go_on(now)


@shared_task(name="compliance.tasks.go_on_with_sweep")
def go_on_with_sweep() -> None:
    """Go on with a sweep whose messages got lost or whose workers were killed."""
    now = timezone.now()
    with _recorded("compliance.tasks.go_on_with_sweep", now) as run:
        lanes = _go_on(now)
        run.outcome = f"chunks handed out: {lanes}" if lanes else "nothing was left"


@shared_task(name="compliance.tasks.assess_chunk")
def assess_chunk() -> None:
    """Assess one chunk of the sweep under way, then queue for the next behind whatever else waits."""
    if chunk := sweep_chunk_claim(now=timezone.now()):
        sweep_chunk_assess(chunk=chunk, now=timezone.now())
        assess_chunk.delay()
    else:
        _end_sweep(timezone.now())


def _go_on(now: datetime.datetime) -> int:
    """Send for as many workers as may still join the sweep; return how many."""
    lanes = sweep_lanes_free(now=now)
    for _ in range(lanes):
        assess_chunk.delay()
    _end_sweep(now)
    return lanes


def _end_sweep(now: datetime.datetime) -> None:
    """Note the end of a sweep that has nothing left to do, and raise what it found."""
    if (sweep := sweep_finish(now=now)) and sweep.stale_count:
        raise_reminders.delay()


@shared_task(name="compliance.tasks.raise_reminders")
def raise_reminders() -> None:
    """Raise what has reached a milestone by the date at its site."""
    now = timezone.now()
    with _recorded("compliance.tasks.raise_reminders", now) as run:
        run.outcome = f"{reminders_raise(now=now)} raised"


@shared_task(name="compliance.tasks.send_reminders")
def send_reminders() -> None:
    """Send the reminders and digests that wait, until none waits or the next run is near."""
    _send(
        "compliance.tasks.send_reminders",
        lambda now: reminder_claim(now=now) or digest_claim(now=now),
        _deliver_reminder,
    )


def _deliver_reminder(row: Reminder | ReminderDigest, at: datetime.datetime) -> bool:
    if isinstance(row, ReminderDigest):
        return digest_deliver(digest=row, sent_at=at)
    return reminder_deliver(reminder=row, sent_at=at)


@shared_task(name="compliance.tasks.send_records")
def send_records() -> None:
    """Print and send the service records that wait, until none waits or the next run is near."""
    _send(
        "compliance.tasks.send_records",
        record_claim,
        lambda row, at: record_deliver(delivery=row, sent_at=at),
    )


def _send(name: str, claim: Callable[..., Any], deliver: Callable[[Any, datetime.datetime], bool]) -> None:
    """Send what waits, one claim after the other."""
    started_at = timezone.now()
    with _recorded(name, started_at) as run:
        sent = failed = 0
        now = started_at
        while now < started_at + SENDING_LASTS and (row := claim(now=now)):
            is_sent = deliver(row, timezone.now())
            sent, failed = sent + is_sent, failed + (not is_sent)
            now = timezone.now()
        run.outcome = f"{sent} sent, {failed} failed"
        run.has_failed = failed > 0


@shared_task(name="compliance.tasks.make_report", **_LONG)
def make_report(run_id: int) -> None:
    """Make one report that was asked for, unless another worker has it."""
    if run := report_claim(now=timezone.now(), pk=run_id):
        report_make(run=run)


@shared_task(name="compliance.tasks.make_waiting_reports", **_LONG)
def make_waiting_reports() -> None:
    """Make the reports whose message got lost or whose worker was killed, one after the other."""
    started_at = timezone.now()
    with _recorded("compliance.tasks.make_waiting_reports", started_at) as run:
        made = []
        waiting_since = started_at - REPORT_MESSAGE_LASTS
        while waiting := report_claim(now=timezone.now(), asked_before=waiting_since):
            made.append(report_make(run=waiting))
        run.outcome = f"{len(made)} made"
        failed = [report for report in made if report.state == WorkState.FAILED]
        run.has_failed = bool(failed)


@shared_task(name="compliance.tasks.make_record_pack")
def make_record_pack(pack_id: int) -> None:
    """Make one record pack that was asked for, unless another worker has it."""
    if pack := record_pack_claim(now=timezone.now(), pk=pack_id):
        record_pack_make(pack=pack)


@shared_task(name="compliance.tasks.make_waiting_packs")
def make_waiting_packs() -> None:
    """Go on with one record pack whose message got lost, whose worker was killed or whose time was up."""
    with _recorded("compliance.tasks.make_waiting_packs", timezone.now()) as run:
        pack = record_pack_claim(now=timezone.now())
        if pack is None:
            run.outcome = "nothing waited"
            return
        record_pack_make(pack=pack)
        run.outcome = f"{pack}: {pack.get_state_display().lower()}"
        run.has_failed = pack.state == WorkState.FAILED


@shared_task(name="compliance.tasks.sweep_log_uploads")
def sweep_log_uploads() -> None:
    """Delete logs of scales that were sent for a form which nobody filed."""
    now = timezone.now()
    with _recorded("compliance.tasks.sweep_log_uploads", now) as run:
        run.outcome = f"{log_uploads_sweep(now=now)} deleted"


@shared_task(name="compliance.tasks.seal_chains")
def seal_chains() -> None:
    """Seal what the hash chains end with, once a night, and tell of the first chain that no longer reaches its seal."""
    now = timezone.now()
    with _recorded("compliance.tasks.seal_chains", now) as run:
        fallen = next(heads_fallen(), None)
        seal = chains_seal_tonight(now=now)
        run.outcome = f"{seal} UTC: {seal.link_count} records of {seal.chain_count} chains"
        if fallen:
            run.has_failed, run.outcome = True, f"{fallen}; {run.outcome}"


@shared_task(name="compliance.tasks.forecast_charges")
def forecast_charges() -> None:
    """Estimate the next charges anew where the day or the records have changed; the rest waits for the next run."""
    started_at = timezone.now()
    with _recorded("compliance.tasks.forecast_charges", started_at) as run:
        count = 0
        while timezone.now() < started_at + FORECASTING_LASTS and (
            done := forecasts_refresh(now=timezone.now())
        ):
            count += done
        run.outcome = f"{count} estimated"


@contextmanager
def _recorded(name: str, started_at: datetime.datetime) -> Iterator[_Run]:
    """Note that a task starts, and how and when it ends; one that is killed stays without an end."""
    fresh = {"started_at": started_at, "finished_at": None, "has_failed": False, "outcome": ""}
    TaskRun.objects.update_or_create(name=name, defaults=fresh)
    run = _Run()
    try:
        yield run
    except Exception as error:
        run.has_failed, run.outcome = True, f"{type(error).__name__}: {error}"
        raise
    finally:
        TaskRun.objects.filter(name=name).update(
            finished_at=timezone.now(), has_failed=run.has_failed, outcome=run.outcome
        )
