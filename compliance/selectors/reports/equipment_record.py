"""The equipment record of European and British appliances: the fields of Article 7, one section an appliance."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Any

from django.conf import settings

from compliance.rulebook.inventory import GwpBasis, co2e_t, gwp
from compliance.selectors.facts_in_bulk import ApplianceFacts, facts_in_batches
from compliance.selectors.reports.document import Column, ColumnKind, ReportDocument, Row, Section, Table
from compliance.selectors.reports.gas_sources import Purchases, purchases_known, source_words
from compliance.selectors.reports.in_force import charge_on, refrigerant_on
from compliance.selectors.reports.masses import kilograms
from compliance.selectors.reports.parameters import Progress, ReportParameters
from compliance.selectors.visit_rows import with_rows
from jobs.models import Certification, Jurisdiction, ServiceEvent, StatementKind, Technician, TransferReason
from jobs.selectors.events import LEGAL_ORDER, events_standing
from jobs.selectors.history import as_known

COLUMNS = (
    Column("Date", ColumnKind.DATE, width=12),
    Column("Record", width=12),
    Column("What", width=22),
    Column("Gas", width=11),
    Column("Mass (kg)", ColumnKind.MASS, width=12),
    Column("Result or remark", width=50),
    Column("Undertaking", width=34),
    Column("Person and certificate", width=46),
)
ARTICLES = {
    Jurisdiction.EU: "Regulation (EU) 2024/573, Art. 7(1)",
    Jurisdiction.UK: "Regulation (EU) No 517/2014 as retained in Great Britain, Art. 6(1)",
}
WHAT, MASS = 2, 4
AT_INSTALLATION = "Added at installation"
NOTES = (
    (
        "Operator and servicing undertaking each keep the record for at least five years (Art. 7(2); Art. "
        "6(2) in Great "
        "Britain)."
    ),
    (
        "Gas that was recycled or reclaimed says so, and from whom it was bought, with name, address and certificate "
        "number of the facility as far as they were recorded with the purchase (Art. 7(1)(d); Art. 6(1) in Great "
        "Britain)."
    ),
)


def equipment_record(parameters: ReportParameters, progress: Progress) -> ReportDocument:
    """Make the records of the appliances in the European Union and Great Britain, from their first entry to the day.

    Source: Regulation (EU) 2024/573, Art. 7(1)(a) to (g) and 7(2); Regulation (EU) No 517/2014, Art. 6.
    """
    appliances = parameters.appliances_in(ARTICLES)
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
        facts=(*parameters.facts, ("Servicing undertaking", settings.FIRM_NAME), *_own_certificates()),
        sections=tuple(sections) or (nothing,),
        notes=NOTES,
    )


def _own_certificates() -> Iterator[tuple[str, str]]:
    """The certificates of the firm itself, as an undertaking (Art. 7(1)(e), 10(2))."""
    for place, number in (
        ("the European Union", settings.FIRM_CERTIFICATE_EU),
        ("Great Britain", settings.FIRM_CERTIFICATE_GB),
    ):
        yield f"Its certificate in {place}", number or "none on record"


def _entries_of(batch: list[ApplianceFacts], parameters: ReportParameters) -> defaultdict[int, list[Row]]:
    """The entries of each appliance up to the day, in the order of the record."""
    standing = events_standing(parameters.known_at).filter(
        appliance__in=[one.appliance.pk for one in batch], happened_on__lte=parameters.as_of
    )
    events = list(with_rows(standing.order_by(*LEGAL_ORDER)))
    people = _then(Technician, parameters, (event.technician_id for event in events))
    certificates = _then(Certification, parameters, (event.certification_id for event in events))
    sources = {row.from_holder_id for event in events for row in event.transfers.all()}
    purchases = purchases_known(sources, parameters.known_at)
    entries: defaultdict[int, list[Row]] = defaultdict(list)
    for event in events:
        person, certificate = people.get(event.technician_id), certificates.get(event.certification_id)
        entries[event.appliance_id].extend(_entries(event, purchases, _person(person, certificate)))
    return entries


def _then(model: type[Any], parameters: ReportParameters, ids: Iterable[int | None]) -> dict[int | None, Any]:
    """Rows of a register by their ids, as they stood at the instant."""
    wanted = {pk for pk in ids if pk is not None}
    return {row.pk: row for row in as_known(model, parameters.known_at, ids=wanted)}


def _section(one: ApplianceFacts, entries: list[Row], parameters: ReportParameters) -> Section:
    appliance, site = one.registered, one.registered.site
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
                f"Serial number: {appliance.serial_number or 'none on record'}. {_at_installation(entries)}"
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


def _at_installation(entries: list[Row]) -> str:
    """What was added at installation, which the record shows separately (Art. 7(1)(a))."""
    masses = [row[MASS] for row in entries if row[WHAT] == AT_INSTALLATION]
    filled = sum((mass for mass in masses if isinstance(mass, Decimal)), Decimal(0))
    return f"Added at installation: {filled} kg." if filled else "No filling at installation is on record."


def _entries(event: ServiceEvent, purchases: Purchases, person: str) -> Iterator[Row]:
    """An event's entries: gas in and out, checks, repairs, tests, decommissioning."""
    # A visit that did none of these is on record all the same, with who made it (Art. 7(1)(e)).
    lines = list(_lines(event, purchases)) or [("Serviced", "", None, event.work_done)]
    for what, gas, mass_kg, remark in lines:
        yield (
            event.happened_on,
            event.reference,
            what,
            gas,
            mass_kg,
            remark,
            event.contractor_name or settings.FIRM_NAME,
            person,
        )


def _lines(event: ServiceEvent, purchases: Purchases) -> Iterator[tuple[str, str, Decimal | None, str]]:
    for row in event.transfers.all():
        if row.reverses_id is not None:
            continue
        if row.to_holder.appliance_id == event.appliance_id:
            at_installation = row.reason == TransferReason.INSTALLATION
            what = AT_INSTALLATION if at_installation else "Added"
            bought = purchases[row.from_holder_id]
            source = source_words(bought, event.happened_on, is_recycled=row.is_recycled)
        else:
            what, source = "Recovered", ""
        remark = "; ".join(filter(None, (row.get_reason_display(), source)))
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


def _person(technician: Technician | None, certificate: Certification | None) -> str:
    """Who did the work and under which certificate (Art. 7(1)(e))."""
    if technician is None:
        return ""
    if certificate is None:
        return f"{technician.full_name}, no certificate named"
    kind = certificate.get_type_display().partition(":")[0].partition(",")[0]
    return f"{technician.full_name}, {kind} no. {certificate.number}"


def _places(value: Decimal, places: int) -> Decimal:
    return value.quantize(Decimal(1).scaleb(-places))
