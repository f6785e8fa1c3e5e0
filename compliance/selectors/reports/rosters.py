"""The technician roster and the cylinder register, each as known at an instant."""

from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import date

from compliance.rulebook.certification import apprentice_exemption_ends_on
from compliance.selectors.reports.document import Column, ColumnKind, ReportDocument, Row, Section, Table
from compliance.selectors.reports.ledger_years import cylinders_hold, transfers_known
from compliance.selectors.reports.masses import kilograms, pounds
from compliance.selectors.reports.parameters import Progress, ReportParameters
from jobs.models import Certification, Cylinder, Technician
from jobs.selectors.cylinder_state import requalification_status
from jobs.selectors.cylinders import requalification_due_on
from jobs.selectors.events import events_standing
from jobs.selectors.history import as_known
from jobs.selectors.requalification import condemned

ROSTER_COLUMNS = (
    Column("Technician", width=26),
    Column("Works for the firm", width=12),
    Column("Certificate", width=40),
    Column("Number"),
    Column("Issued by", width=28),
    Column("Issued on", ColumnKind.DATE, width=12),
    Column("Visits in the year", ColumnKind.COUNT, width=10),
    Column("of them under this certificate", ColumnKind.COUNT, width=14),
)
CYLINDER_COLUMNS = (
    Column("Serial number"),
    Column("Kind", width=20),
    Column("Specification", width=14),
    Column("Water capacity (lb)", ColumnKind.MASS, width=12),
    Column("Tare (lb)", ColumnKind.MASS, width=12),
    Column("Last requalified", ColumnKind.DATE, width=12),
    Column("Period (years)", ColumnKind.COUNT, width=8),
    Column("Due on", ColumnKind.DATE, width=12),
    Column("Requalification", width=14),
    Column("Where", width=24),
    Column("Refrigerant", width=14),
    Column("Holds (lb)", ColumnKind.MASS, width=12),
    Column("Holds (kg)", ColumnKind.MASS, width=12),
)
REQUALIFICATION_IN_WORDS = {
    "": "no test date on record",
    "met": "in date",
    "due_soon": "due soon",
    "overdue": "run out: not to be filled",
    "condemned": "condemned: not to be filled",
}


def technician_roster(parameters: ReportParameters, progress: Progress) -> ReportDocument:
    """List the firm's technicians and their certificates, with the visits of the year under each.

    Source: 40 CFR 82.161 (who must be certified; copies are kept until three years after a technician has left).
    """
    visits = events_standing(parameters.known_at).filter(
        happened_on__year=parameters.year, technician__isnull=False
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
                        "does, two years "
                        "after the first registration."
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
            yield (
                person.full_name,
                works,
                certificate.get_type_display(),
                certificate.number,
                certificate.issuer,
                certificate.issued_on,
                visits,
                under[person.pk, certificate.pk],
            )
        if person.is_apprentice and person.apprentice_registered_on:
            ends_on = apprentice_exemption_ends_on(person.apprentice_registered_on)
            exempt = f"Apprentice, supervised; exempt until {ends_on}"
            registered_on = person.apprentice_registered_on
            yield (person.full_name, works, exempt, "", "", registered_on, visits, under[person.pk, None])
        elif not held or under[person.pk, None]:
            named = "none on record" if not held else "none named: no section 608 certificate was needed"
            yield (person.full_name, works, named, "", "", None, visits, under[person.pk, None])


def cylinder_register(parameters: ReportParameters, progress: Progress) -> ReportDocument:
    """List every cylinder with its requalification and what it held on the day.

    Source: 49 CFR 180.205(c), 180.209 (requalification before it is filled again).
    """
    holds = cylinders_hold(transfers_known(parameters.known_at), parameters.as_of)
    cylinders = sorted(as_known(Cylinder, parameters.known_at), key=lambda cylinder: cylinder.serial_number)
    void = condemned(
        [cylinder.pk for cylinder in cylinders], on=parameters.as_of, known_at=parameters.known_at
    )
    rows = tuple(
        _cylinder_row(cylinder, holds[cylinder.pk], parameters.as_of, is_condemned=cylinder.pk in void)
        for cylinder in cylinders
    )
    return ReportDocument(
        title="Cylinder register",
        whose="The firm",
        facts=parameters.facts_of_firm,
        sections=(
            Section(
                "Cylinders",
                ("A cylinder whose requalification has run out is not filled; what is in it may be used.",),
                (Table("Cylinders", CYLINDER_COLUMNS, rows, empty="No cylinder is registered."),),
            ),
        ),
        notes=("The markings on the cylinder itself govern.",),
    )


def _cylinder_row(cylinder: Cylinder, contents: dict[str, int], as_of: date, *, is_condemned: bool) -> Row:
    due_on = requalification_due_on(cylinder)
    held = {name: mass_mg for name, mass_mg in sorted(contents.items()) if mass_mg}
    place = f"{cylinder.get_place_display()}{f', {cylinder.place_note}' if cylinder.place_note else ''}"
    return (
        cylinder.serial_number,
        cylinder.get_kind_display(),
        cylinder.specification,
        pounds(cylinder.water_capacity_mg),
        pounds(cylinder.tare_mg),
        cylinder.requalified_on,
        cylinder.requalification_period_years,
        due_on,
        REQUALIFICATION_IN_WORDS[requalification_status(due_on, today=as_of, is_condemned=is_condemned)],
        place,
        " and ".join(held) or cylinder.refrigerant,
        pounds(sum(held.values())),
        kilograms(sum(held.values())),
    )
