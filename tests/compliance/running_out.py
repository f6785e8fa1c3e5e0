"""Things that run out, for the tests of their list and their reminders."""

import datetime

from jobs.services.calibrations import calibration_record
from tests.compliance.firm import day
from tests.factories import CertificationFactory, ScaleFactory, TechnicianFactory, UserFactory


def certificate(expires_on="2026-06-30", **fields):
    """A certificate A1 of the European Union that prints its last day."""
    fields.setdefault("technician", TechnicianFactory(certified=False))
    return CertificationFactory(
        type="eu_a1", issued_on=datetime.date(2024, 6, 3), expires_on=day(expires_on), **fields
    )


def apprentice(registered_on="2024-06-30", **fields):
    """An apprentice without a certificate."""
    return TechnicianFactory(
        certified=False, is_apprentice=True, apprentice_registered_on=day(registered_on), **fields
    )


def calibrated_scale(due_on="2026-06-30", **fields):
    """A scale whose newest calibration counts until a day."""
    scale = ScaleFactory(**fields)
    calibrate(scale, due_on=day(due_on))
    return scale


def calibrate(scale, on="2025-06-30", **fields):
    """Record a calibration."""
    values = {
        "certificate_number": "K-1",
        "calibrated_by": "Weights Laboratory",
        "recorded_at": datetime.datetime(2026, 6, 1, 18, tzinfo=datetime.UTC),
    }
    return calibration_record(
        by=UserFactory(), instrument=scale, calibrated_on=day(on), **{**values, **fields}
    )
