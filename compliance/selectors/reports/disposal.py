"""The disposal report: appliances disposed of, what was recovered, and where it went (40 CFR 82.156(a)(3))."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.conf import settings
from django.db.models import QuerySet

from compliance.rulebook.disposal import disposal_verdict
from compliance.selectors.facts_in_bulk import facts_in_bulk
from compliance.selectors.reports.document import Column, ColumnKind, ReportDocument, Row, Section, Table
from compliance.selectors.reports.in_force import charge_on, refrigerant_on
from compliance.selectors.reports.ledger_years import transfers_known
from compliance.selectors.reports.masses import kilograms, pounds
from compliance.selectors.reports.parameters import Progress, ReportParameters
from jobs.models import (
    Appliance,
    HolderKind,
    Jurisdiction,
    ServiceEvent,
    StatementKind,
    Transfer,
    TransferReason,
    WorkKind,
)
from jobs.selectors.events import events_standing

US_JURISDICTIONS = (Jurisdiction.US_FEDERAL, Jurisdiction.US_CALIFORNIA)

JOB_COLUMNS = (
    Column("Company", width=24),
    Column("Customer", width=24),
    Column("Location", width=34),
    Column("Appliance", width=22),
    Column("Date", ColumnKind.DATE),
    Column("Record", width=12),
    Column("Refrigerant", width=12),
    Column("Full charge (lb)", ColumnKind.MASS),
    Column("Into", width=20),
    Column("Remark", width=40),
    Column("Recovered (lb)", ColumnKind.MASS),
    Column("Recovered (kg)", ColumnKind.MASS),
)
MONTH_COLUMNS = (
    Column("Month"),
    Column("Refrigerant"),
    Column("Appliances", ColumnKind.COUNT),
    Column("Recovered (lb)", ColumnKind.MASS),
    Column("Recovered (kg)", ColumnKind.MASS),
)
SHIPMENT_COLUMNS = (
    Column("Date", ColumnKind.DATE),
    Column("Refrigerant", width=12),
    Column("For"),
    Column("To", width=30),
    Column("Cylinder"),
    Column("Document"),
    Column("Sent (lb)", ColumnKind.MASS),
    Column("Sent (kg)", ColumnKind.MASS),
)
OTHER_COLUMNS = (
    Column("Customer", width=24),
    Column("Appliance", width=22),
    Column("Date", ColumnKind.DATE),
    Column("Record", width=12),
    Column("Refrigerant", width=12),
    Column("Why it isn't among them", width=50),
)
SHIPPED_FOR = {
    HolderKind.RECLAIMER: "Reclamation",
    HolderKind.DESTRUCTION_FACILITY: "Destruction",
}


@dataclass(frozen=True)
class Line:
    """A line of a table and the mass that its last columns print."""

    cells: Row
    on: date
    designation: str
    mass_mg: int


def disposal_report(parameters: ReportParameters, progress: Progress) -> ReportDocument:
    """Make the report of a calendar year.

    Source: 40 CFR 82.156(a)(3)(i) to (iii): each job with company, location, date and refrigerant; monthly totals by
    refrigerant; quantities sent for reclamation or destruction, to whom and when. The records are kept for 3 years.
    """
    jobs, others = _jobs(parameters, progress)
    shipments = _shipments(parameters)
    return ReportDocument(
        title=f"Disposal report {parameters.year}",
        whose=parameters.whose,
        facts=parameters.facts,
        sections=(
            Section(
                "Appliances disposed of",
                (
                    (
                        "Appliances of more than 5 and less than 50 lb at sites in the United States, with an "
                        "ozone-depleting refrigerant or a substitute that is not exempt (40 CFR 82.156(a)(3)(i))."
                    ),
                ),
                (
                    Table(
                        "Appliances disposed of",
                        JOB_COLUMNS,
                        tuple(job.cells for job in jobs),
                        _totals(JOB_COLUMNS, jobs),
                        "No such appliance was disposed of in the year.",
                    ),
                ),
            ),
            Section(
                "Recovered in each month",
                ("All that was recovered from those appliances (40 CFR 82.156(a)(3)(ii)).",),
                (_months(jobs),),
            ),
            Section(
                "Sent for reclamation or destruction",
                (
                    (
                        "All that the firm sent in the year, from these appliances and from others "
                        "(40 CFR 82.156(a)(3)(iii)). Recovered refrigerant is gathered in cylinders, so that a "
                        "shipment is the firm's and not one customer's."
                    ),
                ),
                (
                    Table(
                        "Shipments",
                        SHIPMENT_COLUMNS,
                        tuple(line.cells for line in shipments),
                        _totals(SHIPMENT_COLUMNS, shipments),
                        "Nothing was sent in the year.",
                    ),
                ),
            ),
            Section(
                "Disposals outside these records",
                tables=(
                    Table(
                        "Disposals outside these records",
                        OTHER_COLUMNS,
                        tuple(others),
                        empty="Every disposal of the year is listed above.",
                    ),
                ),
            ),
        ),
        notes=("Keep these records for 3 years (40 CFR 82.156(a)(3)).",),
    )


def _disposals(parameters: ReportParameters) -> QuerySet[ServiceEvent]:
    """The year's visits that disposed of an appliance, or that recovered its charge for disposal."""
    year = events_standing(parameters.known_at).filter(
        happened_on__range=parameters.days,
        appliance__in=parameters.appliances_in(US_JURISDICTIONS).order_by().values("pk"),
    )
    by_statement = year.filter(statements__kind=StatementKind.RETIRED).values("pk")
    by_transfer = year.filter(transfers__reason=TransferReason.DISPOSAL).values("pk")
    by_work = [pk for pk, kinds in year.values_list("pk", "work_kinds") if WorkKind.DISPOSAL in kinds]
    chosen = year.filter(pk__in=by_statement) | year.filter(pk__in=by_transfer) | year.filter(pk__in=by_work)
    return (
        chosen.distinct()
        .prefetch_related("transfers__from_holder", "transfers__to_holder__cylinder")
        .order_by("happened_on", "pk")
    )


def _jobs(parameters: ReportParameters, progress: Progress) -> tuple[list[Line], list[Row]]:
    jobs: list[Line] = []
    others: list[Row] = []
    events = list(_disposals(parameters))
    disposed = parameters.appliances().filter(pk__in={event.appliance_id for event in events})
    known = {one.appliance.pk: one for one in facts_in_bulk(disposed, parameters.known_at)}
    for done, event in enumerate(events):
        progress(done, len(events))
        one, on = known[event.appliance_id], event.happened_on
        appliance, described, facts = one.registered, one.described, one.facts
        refrigerant, charge_mg = refrigerant_on(described, facts, on), charge_on(described, facts, on)
        verdict = disposal_verdict(refrigerant, full_charge_mg=charge_mg, on=on)
        if verdict.is_recorded:
            jobs += _lines(event, appliance, refrigerant.designation, charge_mg, verdict.remark)
        else:
            place = (appliance.site.customer.name, appliance.name)
            why = f"{verdict.because} ({verdict.citation})"
            others.append((*place, on, event.reference, refrigerant.designation, why))
    return jobs, others


def _lines(event: ServiceEvent, appliance: Appliance, held: str, charge_mg: int, remark: str) -> list[Line]:
    """One line for each refrigerant that was recovered, or one that says that nothing was."""
    recovered: defaultdict[str, list[Transfer]] = defaultdict(list)
    for row in event.transfers.all():
        if row.reverses_id is None and row.from_holder.appliance_id == event.appliance_id:
            recovered[row.refrigerant].append(row)
    lines = []
    for designation, rows in sorted(recovered.items()) or [(held, [])]:
        mass_mg = sum(row.mass_mg for row in rows)
        into = dict.fromkeys(str(row.to_holder.cylinder or row.to_holder) for row in rows)
        cells = (
            event.contractor_name or settings.FIRM_NAME,
            appliance.site.customer.name,
            ", ".join([appliance.site.name, *appliance.site.address_lines]),
            appliance.name,
            event.happened_on,
            event.reference,
            designation,
            pounds(charge_mg),
            ", ".join(into),
            remark if rows else f"No recovery is on record. {remark}".strip(),
            pounds(mass_mg),
            kilograms(mass_mg),
        )
        lines.append(Line(cells, event.happened_on, designation, mass_mg))
    return lines


def _months(jobs: Iterable[Line]) -> Table:
    months: defaultdict[tuple[str, str], list[Line]] = defaultdict(list)
    for job in jobs:
        months[f"{job.on:%Y-%m}", job.designation].append(job)
    lines = []
    for (month, designation), of_month in sorted(months.items()):
        mass_mg = sum(job.mass_mg for job in of_month)
        cells = (month, designation, len(of_month), pounds(mass_mg), kilograms(mass_mg))
        lines.append(Line(cells, of_month[0].on, designation, mass_mg))
    return Table(
        "Recovered in each month",
        MONTH_COLUMNS,
        tuple(line.cells for line in lines),
        _totals(MONTH_COLUMNS, lines),
        "Nothing was recovered from such appliances in the year.",
    )


def _shipments(parameters: ReportParameters) -> list[Line]:
    sent = (
        transfers_known(parameters.known_at)
        .filter(
            happened_on__range=parameters.days,
            stock_movement__isnull=False,
            reverses=None,
            from_holder__kind=HolderKind.CYLINDER,
            to_holder__kind__in=SHIPPED_FOR,
        )
        .exclude(reversed_by__in=transfers_known(parameters.known_at))
        .select_related("stock_movement", "from_holder__cylinder", "to_holder")
        .order_by("happened_on", "pk")
    )
    lines = []
    for row in sent:
        cells = (
            row.happened_on,
            row.refrigerant,
            SHIPPED_FOR[HolderKind(row.to_holder.kind)],
            row.to_holder.name,
            str(row.from_holder.cylinder),
            row.stock_movement.document_number if row.stock_movement else "",
            pounds(row.mass_mg),
            kilograms(row.mass_mg),
        )
        lines.append(Line(cells, row.happened_on, row.refrigerant, row.mass_mg))
    return lines


def _totals(columns: tuple[Column, ...], lines: list[Line]) -> Row | None:
    """The last line: the mass of all lines, in the last two columns."""
    if not lines:
        return None
    mass_mg = sum(line.mass_mg for line in lines)
    empty = (None,) * (len(columns) - 3)
    return ("Total", *empty, pounds(mass_mg), kilograms(mass_mg))
