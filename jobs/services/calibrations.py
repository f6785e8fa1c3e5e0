"""Records calibrations of instruments; a mistake in one is corrected by another, and both stay."""

import datetime
from typing import Any

from django.db import transaction
from django.utils import timezone

from compliance.rulebook.dates import add_months
from jobs.models import Calibration, Instrument
from jobs.services.refusals import Refusals
from portal.accounts.models import User


@transaction.atomic
def calibration_record(
    *,
    by: User,
    instrument: Instrument,
    calibrated_on: datetime.date,
    certificate_number: str,
    calibrated_by: str,
    due_on: datetime.date | None = None,
    recorded_at: datetime.datetime | None = None,
) -> Calibration:
    """Record that an instrument was calibrated.

    Args:
        by: who records.
        instrument: the scale, gauge or detector.
        calibrated_on: the day on the certificate.
        certificate_number: as printed.
        calibrated_by: the laboratory.
        due_on: the last day on which it counts as calibrated; the instrument's interval later, unless given.
        recorded_at: the instant; now, unless given.

    Raises:
        SubmissionRefused: a field is missing, the day is in the future, or it would be due before it was done.
    """
    values: dict[str, Any] = {
        "calibrated_on": calibrated_on,
        "due_on": due_on,
        "certificate_number": certificate_number.strip(),
        "calibrated_by": calibrated_by.strip(),
    }
    return _save(Calibration(instrument=instrument, **values), by, recorded_at, Refusals())


@transaction.atomic
def calibration_correct(
    *,
    by: User,
    calibration: Calibration,
    reason: str,
    is_void: bool,
    recorded_at: datetime.datetime | None = None,
    **fields: Any,
) -> Calibration:
    """Record what a calibration should have said, or that it never took place; the former record stays readable.

    Args:
        by: who corrects.
        calibration: the record that stands.
        reason: why it is corrected.
        is_void: it never took place.
        recorded_at: the instant; now, unless given.
        fields: calibrated_on, due_on, certificate_number, calibrated_by; as they were, unless given.

    Raises:
        SubmissionRefused: it was corrected before, no reason is given, or as ``calibration_record``.
    """
    former = Calibration.objects.select_related("instrument").get(pk=calibration.pk)
    refusals = Refusals()
    if hasattr(former, "superseded_by") or former.is_void:
        refusals.add("calibrated_on", former, "Expected the record that stands: this one was corrected.")
        refusals.raise_any()
    if not reason.strip():
        refusals.add("correction_reason", reason, "Expected why the record is corrected.")
    copied = ("calibrated_on", "due_on", "certificate_number", "calibrated_by")
    values = {name: getattr(former, name) for name in copied} | ({} if is_void else fields)
    row = Calibration(
        instrument=former.instrument,
        supersedes=former,
        correction_reason=reason.strip(),
        is_void=is_void,
        **values,
    )
    return _save(row, by, recorded_at, refusals)


def _save(
    row: Calibration, by: User, recorded_at: datetime.datetime | None, refusals: Refusals
) -> Calibration:
    row.recorded_by, row.recorded_at = by, recorded_at or timezone.now()
    refusals.check_day("calibrated_on", row.calibrated_on, latest=timezone.localdate(row.recorded_at))
    refusals.raise_any()
    if row.due_on is None:
        row.due_on = add_months(row.calibrated_on, row.instrument.calibration_interval_months)
    if row.due_on < row.calibrated_on:
        refusals.add("due_on", row.due_on, f"Expected a day from {row.calibrated_on} on.")
    refusals.check_fields(row)
    refusals.raise_any()
    row.save()
    return row
