"""Technicians with their certificates, and until when these count."""

import datetime
from dataclasses import dataclass

from django.db.models import Exists, OuterRef, Q, QuerySet

from compliance.rulebook.certification import EVERY_CLASS, Scheme
from compliance.rulebook.certification import CertificationType as RulebookType
from compliance.rulebook.expiries import Certificate, LastDay, certificate_counts_until
from jobs.models import US_CERTIFICATION_TYPES, Certification, CertificationType, Jurisdiction, Technician

# The certificates that a record names where 40 CFR part 82 doesn't hold.
SCHEMES: dict[str, tuple[Scheme, ...]] = {
    Jurisdiction.EU: (Scheme.EU, Scheme.EU_FORMER),
    Jurisdiction.UK: (Scheme.GB,),
}
# Those of Implementing Regulation (EU) 2024/2215 and the categories before them.
EU_CERTIFICATION_TYPES = tuple(
    kind for kind in CertificationType if RulebookType(kind).scheme in SCHEMES[Jurisdiction.EU]
)


@dataclass(frozen=True)
class HeldCertificate:
    """A certificate with its last day by the law of a day; None where nothing says that it runs out."""

    certification: Certification
    last_day: LastDay | None
    is_past: bool


def technician_list(*, search: str = "") -> QuerySet[Technician]:
    """List technicians with their certifications fetched along; those who left come last.

    Args:
        search: part of a name, or of a certificate's number or issuer; all unless given.
    """
    technicians = Technician.objects.select_related("user").prefetch_related("certifications")
    if search := search.strip():
        wanted = (
            Q(full_name__icontains=search)
            | Q(certifications__number__icontains=search)
            | Q(certifications__issuer__icontains=search)
        )
        technicians = technicians.filter(wanted).distinct()
    return technicians.order_by("-is_active", "full_name")


def certificate_last_day(certification: Certification, today: datetime.date) -> LastDay | None:
    """Until when a certificate counts by the law of today; None where nothing says that it runs out."""
    certificate = Certificate(
        type=RulebookType(certification.type),
        issued_on=certification.issued_on,
        refreshed_on=certification.refreshed_on,
        expires_on=certification.expires_on,
    )
    return certificate_counts_until(certificate, on=today)


def held_certificates(technician: Technician, today: datetime.date) -> list[HeldCertificate]:
    """A technician's certificates with their last days, those that no longer count last."""
    rows = sorted(technician.certifications.all(), key=lambda row: row.ended_on is not None)
    held = [(row, None if row.ended_on else certificate_last_day(row, today)) for row in rows]
    return [HeldCertificate(row, last, bool(last and last.on < today)) for row, last in held]


def certificates_under(technician: Technician, jurisdiction: str, on: datetime.date) -> list[Certification]:
    """The certificates of the place's own law that a person held on a day, newest first; none outside Europe.

    Source: Regulation (EU) 2024/573 Art. 7(1)(e), 10(1); Regulation (EU) No 517/2014 Art. 6(1), 10 in Great Britain.
    """
    schemes = SCHEMES.get(jurisdiction, ())
    held = [
        row
        for row in technician.certifications.all()
        if RulebookType(row.type).scheme in schemes
        and row.issued_on <= on
        and (row.ended_on is None or row.ended_on > on)
        and (row.expires_on is None or row.expires_on >= on)
    ]
    return sorted(held, key=lambda row: (row.issued_on, row.pk), reverse=True)


def certifications_in_force() -> QuerySet[Certification]:
    """Certificates that may run out, of people who work here, neither ended nor replaced by a newer one of the type."""
    newer = Certification.objects.filter(
        Q(issued_on__gt=OuterRef("issued_on")) | Q(issued_on=OuterRef("issued_on"), pk__gt=OuterRef("pk")),
        technician=OuterRef("technician"),
        type=OuterRef("type"),
        ended_on=None,
    )
    rows = Certification.objects.filter(~Exists(newer), ended_on=None, technician__is_active=True)
    return rows.exclude(type__in=US_CERTIFICATION_TYPES)


def apprentices() -> QuerySet[Technician]:
    """Apprentices who work here and don't hold what covers every class of appliance (40 CFR 82.161)."""
    in_force = Certification.objects.filter(technician=OuterRef("pk"), ended_on=None)
    every_class = Q(*(Exists(in_force.filter(type=kind)) for kind in EVERY_CLASS))
    covered = Q(Exists(in_force.filter(type=RulebookType.UNIVERSAL))) | every_class
    return Technician.objects.filter(~covered, is_active=True, is_apprentice=True)
