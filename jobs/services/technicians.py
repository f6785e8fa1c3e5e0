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
def technician_register(*, by: User, full_name: str, **fields: Any) -> Technician:
    """Register a technician or apprentice.

    Args:
        by: who registers.
        full_name: as on the certificate.
        fields: phone, user, is_apprentice, apprentice_registered_on, is_active.

    Raises:
        SubmissionRefused: a field is not valid; an apprentice has no date of registration.
    """
    technician = Technician()
    change_fields(technician, {"full_name": full_name, **fields}, TECHNICIAN_FIELDS)
    save_register(technician, by=by, names={NON_FIELD_ERRORS: "apprentice_registered_on"})
    return technician


@transaction.atomic
def technician_change(*, by: User, technician: Technician, **fields: Any) -> Technician:
    """Change a technician's details; the former ones stay in the history."""
    change_fields(technician, fields, TECHNICIAN_FIELDS)
    save_register(technician, by=by, names={NON_FIELD_ERRORS: "apprentice_registered_on"})
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
        SubmissionRefused: a field is not valid, the number is on record, or it is dated in the future.
    """
    recorded_on = timezone.localdate(recorded_at)
    refusals = Refusals()
    if issued_on > recorded_on:
        refusals.add("issued_on", issued_on, f"Expected a date of issue no later than {recorded_on}.")
    certification = Certification(
        technician=technician, type=type, number=number.strip(), issuer=issuer.strip(), issued_on=issued_on
    )
    save_register(certification, by=by, names={NON_FIELD_ERRORS: "number"}, refusals=refusals)
    return certification
