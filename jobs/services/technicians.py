"""Registers technicians and their certifications, and changes them with history."""

import datetime
from typing import Any

from django.core.exceptions import NON_FIELD_ERRORS
from django.db import transaction
from django.utils import timezone

from jobs.models import US_CERTIFICATION_TYPES, Certification, Technician
from jobs.services.refusals import Refusals, change_fields, save_register
from portal.accounts.models import User

TECHNICIAN_FIELDS = frozenset(
    {"full_name", "phone", "user", "is_apprentice", "apprentice_registered_on", "is_active"}
)
RENEWAL_FIELDS = frozenset({"expires_on", "refreshed_on", "ended_on", "ended_because"})
# It bounds typing errors.
LONGEST_VALIDITY = datetime.timedelta(days=366 * 50)


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
    **counts: datetime.date | None,
) -> Certification:
    """Record a certificate that a technician holds (40 CFR 82.161; Regulation (EU) 2024/573 Art. 10).

    Args:
        by: who records.
        technician: who holds it.
        type: one of ``CertificationType``.
        number: as printed,
        issuer: and by whom it was issued,
        issued_on: and when.
        recorded_at: the instant; now, unless given.
        counts: expires_on, the last day printed on it, which a certificate of the United States has none of;
            refreshed_on, the last refresher training or evaluation.

    Raises:
        SubmissionRefused: a field is not valid, the number is on record, or it is dated in the future or before 1900.
    """
    refusals = Refusals()
    refusals.check_day("issued_on", issued_on, latest=timezone.localdate(recorded_at))
    certification = Certification(
        technician=technician, type=type, number=number.strip(), issuer=issuer.strip(), issued_on=issued_on
    )
    change_fields(certification, counts, RENEWAL_FIELDS)
    _check_renewal(certification, refusals, timezone.localdate(recorded_at))
    save_register(certification, by=by, names={NON_FIELD_ERRORS: "number"}, refusals=refusals)
    return certification


@transaction.atomic
def certification_change(
    *, by: User, certification: Certification, recorded_at: datetime.datetime | None = None, **fields: Any
) -> Certification:
    """Record a refresher, a new last day, or that a certificate no longer counts; the former state stays in history.

    Args:
        by: who records.
        certification: the certificate.
        recorded_at: the instant; now, unless given.
        fields: those of ``RENEWAL_FIELDS``.

    Raises:
        SubmissionRefused: a day in the future where it can't be, a last day of one that has none, or an end without
            its reason.
    """
    change_fields(certification, fields, RENEWAL_FIELDS)
    certification.ended_because = certification.ended_because.strip()
    refusals = Refusals()
    _check_renewal(certification, refusals, timezone.localdate(recorded_at))
    ended_on, because = certification.ended_on, certification.ended_because
    refusals.check_day(
        "ended_on", ended_on, earliest=certification.issued_on, latest=timezone.localdate(recorded_at)
    )
    if ended_on and not because:
        refusals.add("ended_because", because, "Expected why it no longer counts.")
    if because and not ended_on:
        refusals.add("ended_on", None, "Expected from which day it no longer counts.")
    save_register(certification, by=by, names={NON_FIELD_ERRORS: "ended_because"}, refusals=refusals)
    return certification


def _check_renewal(certification: Certification, refusals: Refusals, today: datetime.date) -> None:
    """Check last day and refresher of a certificate."""
    issued_on, expires_on = certification.issued_on, certification.expires_on
    refusals.check_day("refreshed_on", certification.refreshed_on, earliest=issued_on, latest=today)
    refusals.check_day("expires_on", expires_on, earliest=issued_on, latest=issued_on + LONGEST_VALIDITY)
    if certification.type not in US_CERTIFICATION_TYPES:
        return
    for field, day in (("expires_on", expires_on), ("refreshed_on", certification.refreshed_on)):
        if day:
            expected = "Expected none: a certificate of this type doesn't expire."
            refusals.add(field, day, expected, "40 CFR 82.161")


def _save(technician: Technician, by: User, recorded_at: datetime.datetime | None) -> None:
    refusals = Refusals()
    registered_on = technician.apprentice_registered_on
    refusals.check_day("apprentice_registered_on", registered_on, latest=timezone.localdate(recorded_at))
    save_register(technician, by=by, names={NON_FIELD_ERRORS: "apprentice_registered_on"}, refusals=refusals)
