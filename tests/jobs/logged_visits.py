"""Visits with the log of a scale, filed in a line."""

import datetime

import pytest

from jobs.errors import SubmissionRefused
from jobs.models import WeighLog
from jobs.services.log_entries import LogAnswers
from jobs.services.log_readings import log_entry
from jobs.services.weigh_logs import weigh_log_add
from tests.factories import FILED_AT, charged, file_event, supply_cylinder
from tests.scale_logs import scale_log

LATER = FILED_AT + datetime.timedelta(hours=3)


def entry(content=None, *, direction="in", unit="", name="scale.csv", division_mg=None):
    return log_entry(
        name=name,
        content=scale_log() if content is None else content,
        answers=LogAnswers(unit),
        direction=direction,
        division_mg=division_mg,
        field="log",
    )


def file_with_log(mass="7 lb", log=None, **fields):
    """A visit of 7 lb into the appliance, with the log that shows it."""
    transfer = charged(supply_cylinder(), mass, log=log or entry(), **fields.pop("transfer", {}))
    return file_event(transfers=(transfer,), **fields).event


def log_of(event):
    return WeighLog.objects.select_related("file", "reading").get(transfer__event=event)


def refusals_of(act, *args, **kwargs):
    with pytest.raises(SubmissionRefused) as caught:
        act(*args, **kwargs)
    return {refusal.field: str(refusal) for refusal in caught.value.refusals}


def add(event, by=None, **fields):
    return weigh_log_add(
        by=by or event.filed_by, transfer=event.transfers.get(), entry=entry(**fields), attached_at=LATER
    )
