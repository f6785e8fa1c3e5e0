"""When each scheduled task ran last and runs next, and whether the sweep that finds what time has changed is late."""

import datetime
from dataclasses import dataclass
from typing import Any

from celery import current_app
from celery.schedules import crontab

from compliance.models import AssessmentSweep, SweepChunk, TaskRun, WorkState

SWEEP = "compliance.tasks.sweep_assessments"
# A run may begin a little after its minute without being late.
GRACE = datetime.timedelta(minutes=3)


@dataclass(frozen=True)
class ScheduledTask:
    """One entry of the schedule with its last run; ``next_at`` is when it runs next by the schedule."""

    title: str
    name: str
    run: TaskRun | None
    next_at: datetime.datetime
    is_late: bool


@dataclass(frozen=True)
class SweepWatch:
    """The newest sweep, and how it stands.

    Attributes:
        task: the scheduled task that begins sweeps.
        sweep: the newest; None before the first.
        assessed_count: appliances of it that were assessed.
        left_count: chunks of it that are still to be done.
        failures: what couldn't be assessed, by chunk, and why.
        is_stuck: it is still under way though the next one was due.
    """

    task: ScheduledTask
    sweep: AssessmentSweep | None
    assessed_count: int
    left_count: int
    failures: list[str]
    is_stuck: bool

    @property
    def is_late(self) -> bool:
        """Whether stored clocks may be behind the calendar."""
        return self.task.is_late or self.is_stuck


def scheduled_tasks(now: datetime.datetime) -> list[ScheduledTask]:
    """Every entry of the schedule, as of an instant."""
    runs = {run.name: run for run in TaskRun.objects.all()}
    return [
        _scheduled(title, entry, runs.get(entry["task"]), now)
        for title, entry in current_app.conf.beat_schedule.items()
    ]


def sweep_watch(now: datetime.datetime) -> SweepWatch:
    """How the newest sweep stands, as of an instant."""
    entries = current_app.conf.beat_schedule.items()
    title, entry = next((title, entry) for title, entry in entries if entry["task"] == SWEEP)
    task = _scheduled(title, entry, TaskRun.objects.filter(name=SWEEP).first(), now)
    sweep = AssessmentSweep.objects.first()
    chunks = list(SweepChunk.objects.filter(sweep=sweep)) if sweep else []
    return SweepWatch(
        task,
        sweep,
        assessed_count=sum(chunk.done_count for chunk in chunks),
        left_count=sum(chunk.is_under_way for chunk in chunks),
        failures=[f"{chunk}: {chunk.failure}" for chunk in chunks if chunk.state == WorkState.FAILED],
        is_stuck=bool(
            sweep and sweep.finished_at is None and _is_past(entry["schedule"], sweep.started_at, now)
        ),
    )


def next_run(schedule: crontab, after: datetime.datetime) -> datetime.datetime:
    """The first instant of a schedule after another one."""
    local, delta, _ = schedule.remaining_delta(after)
    return local + delta


def _scheduled(
    title: str, entry: dict[str, Any], run: TaskRun | None, now: datetime.datetime
) -> ScheduledTask:
    schedule: crontab = entry["schedule"]
    is_late = run is None or _is_past(schedule, run.started_at, now)
    return ScheduledTask(title.capitalize(), entry["task"], run, next_run(schedule, now), is_late)


def _is_past(schedule: crontab, started_at: datetime.datetime, now: datetime.datetime) -> bool:
    """Whether the run after one that began at an instant should have begun by now.

    One that began in the future did so by a clock that ran ahead, and says nothing of the runs since.
    """
    return started_at > now + GRACE or next_run(schedule, started_at) + GRACE < now
