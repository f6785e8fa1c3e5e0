"""Registers technicians and their certifications, and changes them with history."""

import datetime
from typing import Any

from django.core.exceptions import NON_FIELD_ERRORS
from django.db import transaction
from django.utils import timezone

from jobs.models import Certification, Technician
from jobs.services.refusals import Refusals, change_fields, save_register
from portal.accounts.models import User

TECHNICIAN_FIELDS = frozenset(
    {"full_name", "phone", "user", "is_apprentice", "apprentice_registered_on", "is_active"}
)


@transaction.atomic
def technician_register(
    *, by: User, full_name: str, recorded_at: datetime.datetime | None = None, **fields: Any
) -> Technician:
    """Register a technician or apprentice.

    Args:
        by: who registers.
        full_name: as on the certificate.
        recorded_at: the instant; now, unless given.
        fields: phone, user, is_apprentice, apprentice_registered_on, is_active.

    Raises:
        SubmissionRefused: a field is not valid; an apprentice has no date of registration, or one in the future.
    """
    technician = Technician()
    change_fields(technician, {"full_name": full_name, **fields}, TECHNICIAN_FIELDS)
    _save(technician, by, recorded_at)
    return technician


@transaction.atomic
def technician_change(
    *, by: User, technician: Technician, recorded_at: datetime.datetime | None = None, **fields: Any
) -> Technician:
    """Change a technician's details; the former ones stay in the history.

    Raises:
        SubmissionRefused: as ``technician_register``.
    """
    change_fields(technician, fields, TECHNICIAN_FIELDS)
    _save(technician, by, recorded_at)
    return technician


@transaction.atomic
def certification_record(
    *,
    by: User,
    technician: Technician,
    type: str,  # noqa: A002 -- the name it has everywhere else
    number: str,
    issuer: str,
    issued_on: datetime.date,
    recorded_at: datetime.datetime | None = None,
) -> Certification:
    """Record a certificate that a technician holds (40 CFR 82.161).

    Raises:
        SubmissionRefused: a field is not valid, the number is on record, or it is dated in the future or before 1900.
    """
    refusals = Refusals()
    refusals.check_day("issued_on", issued_on, latest=timezone.localdate(recorded_at))
    certification = Certification(
        technician=technician, type=type, number=number.strip(), issuer=issuer.strip(), issued_on=issued_on
    )
    save_register(certification, by=by, names={NON_FIELD_ERRORS: "number"}, refusals=refusals)
    return certification


def _save(technician: Technician, by: User, recorded_at: datetime.datetime | None) -> None:
    refusals = Refusals()
    registered_on = technician.apprentice_registered_on
    refusals.check_day("apprentice_registered_on", registered_on, latest=timezone.localdate(recorded_at))
    save_register(technician, by=by, names={NON_FIELD_ERRORS: "apprentice_registered_on"}, refusals=refusals)
