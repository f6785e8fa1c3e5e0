"""The equipment record of European and British appliances: the fields of Article 7, one section an appliance."""

from collections import defaultdict
from collections.abc import Iterator
from decimal import Decimal

from django.conf import settings

from compliance.rulebook.inventory import GwpBasis, co2e_t, gwp
from compliance.selectors.facts_in_bulk import ApplianceFacts, facts_in_batches
from compliance.selectors.reports.document import Column, ColumnKind, ReportDocument, Row, Section, Table
from compliance.selectors.reports.in_force import charge_on, refrigerant_on
from compliance.selectors.reports.masses import kilograms
from compliance.selectors.reports.parameters import Progress, ReportParameters
from compliance.selectors.visit_rows import with_rows
from jobs.models import Jurisdiction, ServiceEvent, StatementKind, TransferReason
from jobs.selectors.events import LEGAL_ORDER, events_standing

COLUMNS = (
    Column("Date", ColumnKind.DATE, width=12),
    Column("Record", width=12),
    Column("What", width=26),
    Column("Gas", width=12),
    Column("Mass (kg)", ColumnKind.MASS, width=12),
    Column("Result or remark", width=50),
    Column("Undertaking", width=26),
    Column("Person and certificate", width=34),
)
ARTICLES = {
    Jurisdiction.EU: "Regulation (EU) 2024/573, Art. 7(1)",
    Jurisdiction.UK: "Regulation (EU) No 517/2014 as retained in Great Britain, Art. 6(1)",
}
NOTES = (
    (
        "Operator and servicing undertaking each keep the record for at least five years (Art. 7(2); Art. "
        "6(2) in Great "
        "Britain)."
    ),
    (
        "Gas that was recovered and recycled says so; whether other gas was recycled or reclaimed, and by which "
        "facility, is on the papers of the cylinder that it came from (Art. 7(1)(d))."
    ),
)


def equipment_record(parameters: ReportParameters, progress: Progress) -> ReportDocument:
    """Make the records of the appliances in the European Union and Great Britain, from their first entry to the day.

    Source: Regulation (EU) 2024/573, Art. 7(1)(a) to (g) and 7(2); Regulation (EU) No 517/2014, Art. 6.
    """
    appliances = parameters.appliances().filter(site__jurisdiction__in=ARTICLES)
    total = appliances.count()
    sections: list[Section] = []
    for batch in facts_in_batches(appliances, parameters.known_at):
        progress(len(sections), total)
        entries = _entries_of(batch, parameters)
        sections.extend(_section(one, entries[one.appliance.pk], parameters) for one in batch)
    nothing = Section(
        "Appliances", ("No appliance at a site in the European Union or Great Britain is asked about.",)
    )
    return ReportDocument(
        title="Equipment record",
        whose=parameters.whose,
        facts=(*parameters.facts, ("Servicing undertaking", settings.FIRM_NAME)),
        sections=tuple(sections) or (nothing,),
        notes=NOTES,
    )


def _entries_of(batch: list[ApplianceFacts], parameters: ReportParameters) -> defaultdict[int, list[Row]]:
    """The entries of each appliance up to the day, in the order of the record."""
    standing = events_standing(parameters.known_at).filter(
        appliance__in=[one.appliance.pk for one in batch], happened_on__lte=parameters.as_of
    )
    entries: defaultdict[int, list[Row]] = defaultdict(list)
    for event in with_rows(standing.order_by(*LEGAL_ORDER).select_related("technician", "certification")):
        entries[event.appliance_id].extend(_entries(event))
    return entries


def _section(one: ApplianceFacts, entries: list[Row], parameters: ReportParameters) -> Section:
    appliance, site = one.appliance, one.appliance.site
    refrigerant = refrigerant_on(one.described, one.facts, parameters.as_of)
    charge_mg = charge_on(one.described, one.facts, parameters.as_of)
    potential = (
        gwp(refrigerant, GwpBasis.EU_2024_573)
        if site.jurisdiction == Jurisdiction.EU
        else refrigerant.gwp_ar4
    )
    equivalent = (
        ""
        if potential is None
        else f", {_places(co2e_t(charge_mg, potential), 2)} t CO2 equivalent (GWP {potential})"
    )
    return Section(
        f"{site.name}: {appliance.name}",
        (
            (
                f"{ARTICLES[Jurisdiction(site.jurisdiction)]}. Operator: {site.customer.name}. "
                f"Address: {', '.join(site.address_lines)}."
            ),
            (
                f"Contains {kilograms(charge_mg)} kg of {refrigerant}{equivalent}; "
                f"{appliance.get_full_charge_method_display().lower()}. Installed {one.registered.installed_on}. "
                f"{'Hermetically sealed. ' if appliance.is_hermetically_sealed else ''}"
                f"Serial number: {appliance.serial_number or 'none on record'}."
            ),
        ),
        (
            Table(
                f"{appliance.name} {appliance.pk}",
                COLUMNS,
                tuple(entries),
                empty="No entry is on record yet.",
            ),
        ),
    )


def _entries(event: ServiceEvent) -> Iterator[Row]:
    """An event's entries: gas in and out, checks, repairs, tests, decommissioning."""
    for what, gas, mass_kg, remark in _lines(event):
        yield (
            event.happened_on,
            event.reference,
            what,
            gas,
            mass_kg,
            remark,
            event.contractor_name or settings.FIRM_NAME,
            _person(event),
        )


def _lines(event: ServiceEvent) -> Iterator[tuple[str, str, Decimal | None, str]]:
    for row in event.transfers.all():
        if row.reverses_id is not None:
            continue
        if row.to_holder.appliance_id == event.appliance_id:
            at_installation = row.reason == TransferReason.INSTALLATION
            what = "Added at installation" if at_installation else "Added"
        else:
            what = "Recovered"
        remark = f"{row.get_reason_display()}{', recycled' if row.is_recycled else ''}"
        yield what, row.refrigerant, kilograms(row.mass_mg), remark
    inspection = getattr(event, "leak_inspection", None)
    if inspection is not None:
        found = [
            f"{finding.leak}: {finding.part}, {finding.location}" for finding in event.leak_findings.all()
        ]
        yield "Leak check", "", None, f"{inspection.methods}. {'; '.join(found) or 'No leak found.'}"
    for repair in event.repairs.all():
        yield f"Repair of {repair.leak}", "", None, repair.work_done
    for test in event.verification_tests.all():
        yield (
            f"Check after repair, {test.leak}",
            "",
            None,
            f"{'Passed' if test.is_passed else 'Failed'}: {test.method}",
        )
    for statement in event.statements.all():
        if statement.kind == StatementKind.RETIRED:
            yield "Decommissioned", "", None, event.work_done


def _person(event: ServiceEvent) -> str:
    if event.technician is None:
        return ""
    held = f"certificate {event.certification.number}" if event.certification else "no certificate named"
    return f"{event.technician.full_name}, {held}"


def _places(value: Decimal, places: int) -> Decimal:
    return value.quantize(Decimal(1).scaleb(-places))
