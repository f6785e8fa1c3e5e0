"""The technician roster, as known at an instant."""

from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date, timedelta

from compliance.rulebook.certification import apprentice_exemption_ends_on
from compliance.selectors.reports.document import Column, ColumnKind, ReportDocument, Row, Section, Table
from compliance.selectors.reports.parameters import Progress, ReportParameters
from jobs.models import Certification, Technician
from jobs.selectors.events import events_standing
from jobs.selectors.history import as_known
from jobs.selectors.technicians import certificate_last_day

#: What stands under "Ended" where nobody ended a certificate, but its last day is past.
RAN_OUT = "Ran out"

ROSTER_COLUMNS = (
    Column("Technician", width=26),
    Column("Works for the firm", width=12),
    Column("Certificate", width=50),
    Column("Number", width=12),
    Column("Issued by", width=32),
    Column("Issued on", ColumnKind.DATE, width=12),
    Column("Last refresher", ColumnKind.DATE, width=12),
    Column("Counts until", ColumnKind.DATE, width=12),
    Column("Ended", width=26),
    Column("Visits in the year", ColumnKind.COUNT, width=10),
    Column("Of them under this certificate", ColumnKind.COUNT, width=14),
)


def technician_roster(parameters: ReportParameters, progress: Progress) -> ReportDocument:
    """List the firm's technicians and their certificates, with the visits of the year under each.

    Source: 40 CFR 82.161 (who must be certified; copies are kept until three years after a technician has left).
    """
    visits = events_standing(parameters.known_at).filter(
        happened_on__range=parameters.days, technician__isnull=False
    )
    under: Counter[tuple[int, int | None]] = Counter(visits.values_list("technician_id", "certification_id"))
    rows = tuple(_roster_rows(parameters, under))
    return ReportDocument(
        title=f"Technician roster {parameters.year}",
        whose="The firm",
        facts=parameters.facts_of_firm,
        sections=(
            Section(
                "Technicians and their certificates",
                (
                    (
                        "Section 608 certificates don't expire (40 CFR 82.161); an apprentice's exemption "
                        "does, two years after the first registration. A certificate of the European Union counts "
                        "until its next refresher is due (Regulation (EU) 2024/573 Art. 10(9)) or the last day "
                        "printed on it, whichever is earlier; one of Great Britain until the last day printed on it, "
                        "since the portal knows of no other there (from memory)."
                    ),
                    (
                        f"Whether one has ended is told as of {parameters.as_of}: “{RAN_OUT.lower()}” where its last "
                        "day is past, else the day from which it no longer counts and why. Where no last day stands, "
                        "nothing says that it runs out."
                    ),
                ),
                (Table("Technicians", ROSTER_COLUMNS, rows, empty="No technician is registered."),),
            ),
        ),
        notes=(
            (
                "Keep a copy of each certificate at the place of business until three years after the "
                "technician has left "
                "(40 CFR 82.161(a)(4))."
            ),
        ),
    )


def _roster_rows(parameters: ReportParameters, under: Counter[tuple[int, int | None]]) -> Iterator[Row]:
    of_technician: defaultdict[int, list[Certification]] = defaultdict(list)
    for certification in as_known(Certification, parameters.known_at):
        of_technician[certification.technician_id].append(certification)
    technicians = sorted(as_known(Technician, parameters.known_at), key=lambda person: person.full_name)
    for person in technicians:
        visits = sum(count for (pk, _), count in under.items() if pk == person.pk)
        works = "yes" if person.is_active else "no longer"
        held = sorted(of_technician[person.pk], key=lambda certificate: certificate.issued_on)
        for certificate in held:
            last_on = _last_on(certificate, parameters.as_of)
            yield (
                person.full_name,
                works,
                certificate.get_type_display(),
                certificate.number,
                certificate.issuer,
                certificate.issued_on,
                _by(parameters.as_of, certificate.refreshed_on),
                last_on,
                _end(certificate, last_on, parameters.as_of),
                visits,
                under[person.pk, certificate.pk],
            )
        if person.is_apprentice and person.apprentice_registered_on:
            ends_on = apprentice_exemption_ends_on(person.apprentice_registered_on)
            exempt = f"Apprentice, supervised; exempt until {ends_on}"
            registered_on = person.apprentice_registered_on
            ended = RAN_OUT if ends_on < parameters.as_of else ""
            counts = (registered_on, None, ends_on, ended, visits, under[person.pk, None])
            yield (person.full_name, works, exempt, "", "", *counts)
        elif not held or under[person.pk, None]:
            named = "none on record" if not held else "none named: no section 608 certificate was needed"
            uncounted = (None, None, None, "", visits, under[person.pk, None])
            yield (person.full_name, works, named, "", "", *uncounted)


def _by(as_of: date, day: date | None) -> date | None:
    """A day, unless it is still to come."""
    return day if day and day <= as_of else None


def _last_on(certificate: Certification, as_of: date) -> date | None:
    """The last day on which a certificate counts: by the law of a day, or before it no longer counts."""
    by_law = certificate_last_day(certificate, as_of)
    days = [by_law.on] if by_law else []
    if certificate.ended_on:
        days.append(certificate.ended_on - timedelta(days=1))
    return min(days, default=None)


def _end(certificate: Certification, last_on: date | None, as_of: date) -> str:
    """Why a certificate doesn't count on a day; empty where it does."""
    if certificate.ended_on and certificate.ended_on <= as_of:
        return f"{certificate.ended_on}: {certificate.ended_because}"
    return RAN_OUT if last_on and last_on < as_of else ""
